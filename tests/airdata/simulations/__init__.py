"""Simulated flights with known truth: what wind and position error come out as, and how far off.

``air`` is the air, ``plans`` what the pilot means to fly, ``point_mass`` the aircraft and
the pilot, ``recorder`` the instruments, ``conditions`` the named conditions, ``flights`` whole
flights of legs or of full circles as the services take them, ``table`` what the services make
of them. ``efficiency`` and ``coverage`` are of single runs. ``thermometer`` stands alone:
climbs with two heights, for the check of a thermometer.

``ordinary`` gives flights that were flown for no test, a season of each airframe: of
``itineraries`` in ``ordinary_air`` by ``ordinary_airframes``, with the same point mass.
``season`` writes them as logs into a folder.
"""
