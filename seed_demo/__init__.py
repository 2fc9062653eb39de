"""A worked example: an invented fleet, flown by a small simulator, taken through the real commands.

Everything in it is invented: the aircraft type, its owners, its numbers and its
weather. The physics is written here a second time, on its own, so that what
fleetcal finds can be held against a truth that fleetcal had no part in.
"""

from fleetcal import cli as cli  # before numpy is loaded, whose threads it limits
