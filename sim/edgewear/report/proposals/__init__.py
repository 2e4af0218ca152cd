"""Ways of rigging that were tried: on a terminal, as a page, a table and YAML to paste."""
