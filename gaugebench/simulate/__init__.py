"""A twin-pump machine and a kit on it, to demonstrate, train and test with."""
