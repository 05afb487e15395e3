"""The commands of `reach movement`: one module a command."""
