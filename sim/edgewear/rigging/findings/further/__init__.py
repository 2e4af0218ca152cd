"""Further remarks on a rigged option: on where people hang on, on what carries nothing."""
