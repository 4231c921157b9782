"""The Review place: what a record holds."""
