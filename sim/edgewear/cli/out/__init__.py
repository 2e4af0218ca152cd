"""Where everything printed leaves, and the commands end."""
