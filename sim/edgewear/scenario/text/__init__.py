"""Numbers and words as people type them: units, quantities, YAML with its places."""
