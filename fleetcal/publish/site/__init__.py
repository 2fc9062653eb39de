"""The static fleet site: pages of plain values that open from a folder, without a server.

Its charts are SVG written by hand: hundreds of pages at a tenth of a second each would take
minutes.
"""
