"""What proves a harness, and the rules: single faults, which of them a user's own file would notice, strategies."""
