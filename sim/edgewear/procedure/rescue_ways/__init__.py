"""Rescue as it would happen: who is there, what they have, which way they can go, how long."""
