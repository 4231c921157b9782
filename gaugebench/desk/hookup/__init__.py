"""The Hook-up place: which kit, what sits on which port, and whether it may be connected."""
