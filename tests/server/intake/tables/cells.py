"""Awkward tables by their names, units and cells: languages, units after a slash, words for no value. All invented."""

from tests.server.intake.tables.awkward import GPM, PSI, Awkward

CELLS = (
    Awkward(
        "Units after a slash",
        "a name, a slash, a unit that has a slash of its own; litres an hour",
        "Datum;Eingangsdruck / bar;Permeatmenge / l/h;Temperatur / °C;Leitwert Permeat / µS/cm\n"
        "15.01.2024;12,5;14100;17,5;23\n16.01.2024;12,6;14050;17,4;23\n",
        rows={"2024-01-15T12:00": {"permeate_flow_m3h": 14.1, "permeate_conductivity_us_cm": 23}},
        columns={"Permeatmenge / l/h": "permeate_flow [L/h]"},
    ),
    Awkward(
        "Units after a comma",
        "a comma between name and unit; millisiemens a metre",
        '"Date, time";"Feed pressure, kPa";"Permeate flow, L/min";"Feed cond., mS/m"\n15/01/2024 06:00;1250;235;184\n',
        rows={"2024-01-15T06:00": {"feed_pressure_bar": 12.5, "permeate_flow_m3h": 14.1,
                                   "feed_conductivity_us_cm": 1840}},
    ),
    Awkward(
        "A day in Spanish",
        "cubic metres a day with an accent; kilograms on the square centimetre; a point between thousands",
        "Fecha y hora;Presión entrada membranas (kg/cm2);Caudal producto (m3/día);Conductividad alimentación (µS/cm)\n"
        "15/01/2024 06:00;12,5;338;1.840\n16/01/2024 06:00;12,6;338;1.841\n",
        # NIST SP 811: 1 kgf/cm2 = 0.980665 bar
        rows={"2024-01-15T06:00": {"feed_pressure_bar": 12.5 * 0.980665, "permeate_flow_m3h": 338 / 24,
                                   "feed_conductivity_us_cm": 1840}},
    ),
    Awkward(
        "A unit that nobody knows",
        "cubic metres a fortnight",
        "Date,Feed pressure (bar),Permeate flow (m3/fortnight)\n15/01/2024,12.5,4700\n16/01/2024,12.5,4700\n",
        asks=('is given in "m3/fortnight", a unit that is not known here',),
        count=2,
    ),
    Awkward(
        "A unit that nobody knows, below the name",
        "barrels a day in a row of units",
        "Date,Feed pressure,Permeate flow\n,bar,bbl/d\n15/01/2024,12.5,470\n16/01/2024,12.5,470\n",
        asks=('is given in "bbl/d", a unit that is not known here',),
        count=2,
    ),
    Awkward(
        "Dutch log",
        "compounds; decimal comma; remarks in Dutch",
        "Datum;Tijd;Voedingsdruk (bar);Permeaatdebiet (m3/h);Geleidbaarheid permeaat (µS/cm);Opmerking\n"
        "15-01-2024;06:00;12,5;14,1;23;ok\n16-01-2024;06:00;12,6;14,0;23;\n",
        rows={"2024-01-15T06:00": {"feed_pressure_bar": 12.5, "permeate_flow_m3h": 14.1, "remark": "ok"}},
        count=2,
    ),
    Awkward(
        "Italian log",
        "clock times with a point; decimal comma",
        "Data;Ora;Pressione alimento (bar);Portata permeato (m3/h);Conducibilità permeato (µS/cm);Note\n"
        "15/01/2024;06.00;12,5;14,1;23;ok\n16/01/2024;06.00;12,6;14,0;23;\n",
        rows={"2024-01-15T06:00": {"feed_pressure_bar": 12.5, "permeate_conductivity_us_cm": 23, "remark": "ok"}},
    ),
    Awkward(
        "French log with states",
        "clock times as 6h00; states with a circumflex; raw water called brut; remarks called Obs.",
        "Date;Heure;Pression entrée (bar);Débit perméat (m3/h);Conductivité brut (µS/cm);État;Obs.\n"
        "15/01/2024;6h00;12,5;14,1;1840;Marche;RAS\n15/01/2024;14h00;12,6;14,0;1840;Arrêt;lavage\n",
        rows={
            "2024-01-15T06:00": {"feed_conductivity_us_cm": 1840, "state": "running"},
            "2024-01-15T14:00": {"state": "stopped", "remark": "lavage"},
        },
    ),
    Awkward(
        "Milliseconds",
        "a column ts with milliseconds since 1970; names with underscores",
        "ts,feed_press_bar,perm_flow_m3h\n1705298400000,12.5,14.1\n1705302000000,12.6,14.0\n",
        rows={"2024-01-15T06:00": {"feed_pressure_bar": 12.5}, "2024-01-15T07:00": {"permeate_flow_m3h": 14}},
    ),
    Awkward(
        "Status of a value, not of the plant",
        "one row for each tag; a unit column; a status in German that is not good",
        "Zeitstempel;Messstelle;Wert;Einheit;Status\n15.01.2024 06:00;PI101 Druck Zulauf;12,5;bar;OK\n"
        "15.01.2024 06:00;FI102 Permeat;14,1;m³/h;OK\n15.01.2024 07:00;PI101 Druck Zulauf;12,6;bar;OK\n"
        "15.01.2024 07:00;FI102 Permeat;99;m³/h;Störung\n",
        rows={"2024-01-15T06:00": {"permeate_flow_m3h": 14.1}, "2024-01-15T07:00": {"feed_pressure_bar": 12.6}},
        notes=("Values whose quality is not good were left out: row 5",),
    ),
    Awkward(
        "Units behind every number",
        "two operators with two units in one column; no unit in the names",
        "When,Feed pressure,Permeate flow,Feed temp,Perm cond\n2024-01-15 06:00,12.5 bar,62 gpm,17.5°C,23 µS/cm\n"
        "2024-01-15 14:00,12.6bar,62 gpm,63 F,0.023 mS/cm\n",
        rows={"2024-01-15T14:00": {"feed_pressure_bar": 12.6, "feed_temperature_c": (63 - 32) / 1.8,
                                   "permeate_conductivity_us_cm": 23, "permeate_flow_m3h": 62 * GPM}},
        notes=("values in degF were converted",),
    ),
    Awkward(
        "Three rows of header",
        "groups, names and units; the date once a day; OFF, n/a, <0.1 and a dash among the numbers",
        ",,Feed,,Permeate,,\nDate,Time,Press.,Temp.,Flow,Cond.,Cl2\n,,psi,°F,gpm,µS,mg/l\n"
        "1/15/24,6:00 AM,174,63,62,23,<0.1\n,2:00 PM,175,63,62,23,<0.1\n,10:00 PM,OFF,63,OFF,n/a,-\n",
        rows={"2024-01-15T14:00": {"feed_pressure_bar": 175 * PSI}, "2024-01-15T22:00": {"feed_temperature_c": 17.222}},
        count=3,
        notes=('Cells that say "OFF" have no value', "beyond what the instrument shows (<)"),
    ),
    Awkward(
        "Hour 24",
        "midnight written as 24:00 of the day before",
        "Date,Hour,Feed pressure (bar),Permeate flow (m3/h)\n15/01/2024,16:00,12.5,14\n15/01/2024,24:00,12.6,14\n",
        rows={"2024-01-16T00:00": {"feed_pressure_bar": 12.6}},
        count=2,
    ),
    Awkward(
        "Points in clock times",
        "a.m. and p.m. with points, half past midnight",
        "Date,Time,Feed pressure (psi),Permeate flow (gpm)\n15/01/2024,6.30 a.m.,174,62\n15/01/2024,2.30 p.m.,175,62\n"
        "15/01/2024,12.30 a.m.,176,62\n",
        rows={"2024-01-15T00:30": {"feed_pressure_bar": 176 * PSI}, "2024-01-15T14:30": {"permeate_flow_m3h": 14.082}},
        count=3,
    ),
    Awkward(
        "Lines within cells",
        "names and a remark over several lines",
        '"Date","Feed\npressure\n(bar)","Permeate\nflow\n(m3/h)","Remarks"\n15/01/2024,12.5,14,"stopped\nrestarted"\n',
        rows={"2024-01-15T12:00": {"feed_pressure_bar": 12.5, "remark": "stopped\nrestarted"}},
    ),
    Awkward(
        "Wide signs without a mark",
        "UTF-16 without its mark; tabs; carriage returns",
        "Date\tFeed pressure (bar)\r\n15/01/2024\t12.5\r\n16/01/2024\t12.6\r\n".encode("utf-16-le"),
        rows={"2024-01-16T12:00": {"feed_pressure_bar": 12.6}},
    ),
    Awkward(
        "A gauge in two units",
        "the same pressure twice, in bar and in psi",
        "Date,Feed pressure bar,Feed pressure psi,Permeate flow m3/h\n15/01/2024,12.5,181,14\n16/01/2024,12.6,183,14\n",
        rows={"2024-01-15T12:00": {"feed_pressure_bar": 12.5}},
        columns={"Feed pressure psi": ""},
    ),
)  # fmt: skip
