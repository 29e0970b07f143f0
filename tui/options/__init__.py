"""The options of every command. Nothing heavy is imported here: `--help` must answer at once."""
