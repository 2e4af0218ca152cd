"""The board: a scenario in the browser, where things are moved and the answers follow."""
