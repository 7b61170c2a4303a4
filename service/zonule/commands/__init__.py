"""One room per command of the command line; each adds its own parser by `add_to`."""

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    Commands = argparse._SubParsersAction[argparse.ArgumentParser]
