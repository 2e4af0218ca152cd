"""From a file to a scenario: words looked up, options merged, every problem at once."""
