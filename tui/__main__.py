"""`python -m coaxly` is the command `coaxly`."""

import sys

from .main import main

sys.exit(main())
