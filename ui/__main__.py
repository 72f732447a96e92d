"""``python3 -m ui``: everything that ``nudgeline`` does, straight from a checkout.

``python3 -m ui demo`` on a machine that has nothing but Python sets up what is needed first.
"""

import sys

from ui.bootstrap import enter


def main() -> int:
    """Run the command line in an environment that has what it needs."""
    enter("ui")
    from ui.command_line import main as command_line

    return command_line()


if __name__ == "__main__":
    sys.exit(main())
