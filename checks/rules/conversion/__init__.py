"""Rules of what a rebuild owes the harness that it converts."""
