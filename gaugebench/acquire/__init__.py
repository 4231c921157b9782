"""From drivers to timed samples: registry, reader threads, clocks, gaps, ring buffer."""
