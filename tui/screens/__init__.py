"""The screens: programs and what they all stand on here, the screens themselves in rooms, one a file."""
