"""Two reports on the same levels, before and after a change: what got worse, what got better, worst first."""
