"""What was found of a rigging or a procedure, as frozen classes of plain values; imports nobody."""
