"""The Worksheet place: which machine, which job, and the traces of it."""
