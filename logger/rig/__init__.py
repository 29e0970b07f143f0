"""The built-in engine: a crank, a housing and a dial that exist in numbers only."""
