"""One module a command: arguments, progress and exit codes, no logic."""
