"""One module a command, each with `run(arguments) -> exit code`."""
