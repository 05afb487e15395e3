"""One module a finding; its docstring is its manual page."""
