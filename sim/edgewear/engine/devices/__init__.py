"""Devices beside the processor: whether there are any, and who plays on which."""
