"""What rigging finds of an option: levels, loads, catches, single failures, independence."""
