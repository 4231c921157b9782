"""The Live place: what the kit says now."""
