"""Which input decides: shares of an outcome's variance, from any dataset or a design of its own."""
