"""Fleet statistics: pooled curves with two bands, and the standing of one aircraft.

numpy in, frozen dataclasses out; this room knows neither files nor databases.
"""
