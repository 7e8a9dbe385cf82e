"""Everything that computes care."""
