"""Figures from samples: pure functions of a trace and its settings."""
