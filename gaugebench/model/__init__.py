"""Plain frozen data that every room shares: hooked up, read, found. No input or output."""
