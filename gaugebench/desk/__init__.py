"""The window. Qt, and nothing but Qt: it asks the rooms below and holds no logic of its own."""
