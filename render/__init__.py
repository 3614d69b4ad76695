"""What people and machines read: drawings, documents and reports."""
