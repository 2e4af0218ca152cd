"""What sheets for people to sign have beside the findings."""
