"""Where friction energy goes along the sheath, and what is left."""
