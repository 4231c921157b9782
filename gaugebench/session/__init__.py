"""One recording put together: sources, ring, journal and live marks, from start to sealed file."""
