"""What is kept: the journal, the trace file, import and export, recovery."""
