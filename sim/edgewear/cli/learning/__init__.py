"""Commands that learn from tests."""
