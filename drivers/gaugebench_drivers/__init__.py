"""The drivers that come with Gaugebench, one module each."""
