"""Learning from tests: the posterior of what was asked, judged before anybody may use it."""
