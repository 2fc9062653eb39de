"""Air data: atmosphere, pitot-static relations, wind and position error, uncertainty.

Arrays in, arrays out, SI units throughout; each function names its source.
"""
