"""`python -m gasdoc`."""

import sys

from gasdoc.cli import main

sys.exit(main())
