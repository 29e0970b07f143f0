"""A job on disk: its details, its journal, its recordings' places, and the shop around it."""
