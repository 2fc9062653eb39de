"""Small invented logs in many dialects, all of the same minute."""

from __future__ import annotations

ROWS = 60


def values(i):
    """Second of the day, IAS kt, altitude ft, OAT degC, ground speed kt, track deg."""
    return 36000 + i, 90.0 + 0.1 * (i % 7), 4000 + i % 5, 12.5, 101.0 + 0.1 * (i % 3), 45.0 + i % 2


def hms(second):
    """Clock time of a second of the day."""
    return f"{second // 3600:02d}:{second // 60 % 60:02d}:{second % 60:02d}"


def plain_log(count=ROWS):
    """Text of a comma-separated log with units in brackets."""
    lines = [
        "UTC date,UTC time,IAS (kt),pressure altitude (ft),OAT (degC),"
        "ground speed (kt),track (deg true)"
    ]
    for i in range(count):
        s, ias, alt, oat, gs, trk = values(i)
        lines.append(f"2024-05-02,{hms(s)},{ias:.1f},{alt},{oat:.1f},{gs:.1f},{trk:.0f}")
    return "\n".join(lines) + "\n"


def dialects():
    """Name -> bytes of the same flight as different recorders would write it."""
    rows = [values(i) for i in range(ROWS)]
    found = {"plain": plain_log().encode()}
    semicolon = [
        "Datum der Aufzeichnung;;;;;",
        "date-time [UTC];IAS [kt];pressure altitude [m];"
        "OAT [°C];ground speed [km/h];track true [°]",
    ]
    for s, ias, alt, oat, gs, trk in rows:
        cells = [
            f"{ias:.1f}",
            f"{alt * 0.3048:.3f}",
            f"{oat:.1f}",
            f"{gs * 1.852:.3f}",
            f"{trk:.1f}",
        ]
        semicolon.append(f"2024-05-02T{hms(s)}Z;" + ";".join(cells).replace(".", ","))
    found["semicolon, decimal comma, code page"] = "\r\n".join(semicolon).encode("cp1252")
    found["utf-16"] = "\r\n".join(semicolon).encode("utf-16")
    tabbed = [
        "# recorder 7, flight of 2024-05-02",
        "time\tIAS\tpress alt\tOAT\tgnd speed\tTRK",
        "s of day UTC\tkts\tfeet\tdeg F\tkts\tdeg true",
    ]
    for s, ias, alt, oat, gs, trk in rows:
        tabbed.append(f"{s}\t{ias:.1f}\t{alt}\t{oat * 1.8 + 32:.1f}\t{gs:.1f}\t{trk}")
    found["tabs, row of units, seconds of day, date above"] = "\n".join(tabbed).encode()
    spaced = [
        "utc_epoch_s  ias_m_s  static_pressure_hpa  pressure_altitude_ft oat_k "
        "gs_mps track_true_deg"
    ]
    for s, ias, alt, oat, gs, trk in rows:
        spaced.append(
            f"{1714608000 + s}   {ias * 1852 / 3600:.4f}  875.1 {alt}  {oat + 273.15:.2f}"
            f"  {gs * 1852 / 3600:.4f} {trk:.2f}"
        )
    found["blanks, names with units, epoch"] = "\n".join(spaced).encode()
    local = [
        "local date, local time, UTC offset, ind altitude, altimeter setting, OAT, IAS, GS, TRK",
        "(yyyy-mm-dd), (hh:mm:ss), (hh:mm), (ft), (inHg), (deg C), (kt), (kt), (deg true)",
    ]
    for s, ias, alt, oat, gs, trk in rows:
        local.append(
            f"2024-05-02, {hms(s + 7200)},  +02:00, {alt}, 29.9213, {oat:.1f}, {ias:.1f}, "
            f"{gs:.1f}, {trk}"
        )
    found["units above data, local time with offset, altimeter setting"] = "\n".join(local).encode()
    twelve = [
        "Date (mm/dd/yyyy),Time UTC,Indicated Airspeed (mph),Pressure Altitude (feet),"
        "Outside Air Temperature (C),GPS Ground Speed (mph),GPS Ground Track (true degrees),"
    ]
    mph = 1852 / 1609.344
    for s, ias, alt, oat, gs, trk in rows:
        twelve.append(
            f"05/02/2024,{hms(s)} AM,{ias * mph:.4f},{alt},{oat:.1f},{gs * mph:.4f},{trk},"
        )
    found["twelve-hour clock, trailing separator"] = "\n".join(twelve).encode()
    quoted = [
        ",".join(
            f'"{h}"'
            for h in (
                "Timestamp UTC",
                "CAS (kt)",
                "IAS (kt)",
                "Selected altitude (ft)",
                "Press. alt. (ft)",
                "GPS altitude (m)",
                "OAT (°C)",
                "Wind speed (kt)",
                "Speed over ground (kt)",
                "Course over ground (° true)",
            )
        )
    ]
    for s, ias, alt, oat, gs, trk in rows:
        decoyed = (
            f"2024-05-02 {hms(s)}.000",
            ias + 9,
            f"{ias:.1f}",
            9000,
            alt,
            1300,
            oat,
            33,
            f"{gs:.1f}",
            trk,
        )
        quoted.append(",".join(f'"{c}"' for c in decoyed))
    found["quotes, decoys"] = ("\ufeff" + "\n".join(quoted)).encode()
    return found
