"""Further findings on a rigged option: where people hang on, what carries nothing, hauls."""
