"""Drawing many samples in few pixels without losing one spike."""
