"""The Side by side place: two pumps of one trace, or two traces."""
