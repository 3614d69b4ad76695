"""What machines read: one module a format, each a pure function from reports to text.

All of them show the same entries (``entries``), so that a finding has one wording, one place and one fingerprint.
"""
