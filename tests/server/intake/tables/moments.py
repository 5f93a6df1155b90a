"""Awkward tables by where the time of a reading stands: above it, in its sheet's name, across the top. All invented."""

from datetime import date, time

from server.intake.understand.compile import Corrections
from tests.server.intake.tables.awkward import PSI, Awkward
from tests.server.intake.tables.workbooks import workbook

HEAD = ["Time", "Feed pressure (bar)", "Permeate flow (m3/h)"]
SHIFTS = Corrections(shifts={"A": "06:00", "B": "14:00", "C": "22:00"})

MOMENTS = (
    Awkward(
        "Three shifts beside each other",
        "columns A, B and C below each quantity; one shift without a flow",
        "Date,Feed pressure (bar),,,Permeate flow (m3/h),,\n,A,B,C,A,B,C\n15/01/2024,12.5,12.6,12.7,14.1,14.2,14.3\n"
        "16/01/2024,12.5,12.6,12.8,14.1,14.2,\n",
        rows={"2024-01-15T14:00": {"feed_pressure_bar": 12.6, "permeate_flow_m3h": 14.2},
              "2024-01-16T22:00": {"feed_pressure_bar": 12.8}},
        count=6,
        asks=("At what time of day is each shift read? The file has only their names: A ?, B ?, C ?.",),
        says=SHIFTS,
        notes=("Each row holds several readings beside each other (A, B, C)",),
    ),
    Awkward(
        "Shifts over their quantities",
        "groups called Shift A, Shift B; the same quantities below each",
        "Date,Shift A,,Shift B,\n"
        ",Feed P (bar),Perm Q (m3/h),Feed P (bar),Perm Q (m3/h)\n15/01/2024,12.5,14.1,12.6,14.2\n",
        rows={"2024-01-15T18:00": {"feed_pressure_bar": 12.6, "permeate_flow_m3h": 14.2}},
        count=2,
        asks=("At what time of day is each shift read?",),
        says=Corrections(shifts={"Shift A": "06:00", "Shift B": "18:00"}),
    ),
    Awkward(
        "Three trains beside each other",
        "the same letters, but this train is called by one of them",
        "Date,Feed P A (bar),Feed P B (bar),Feed P C (bar)\n15/01/2024,12.5,13.5,14.5\n16/01/2024,12.5,13.5,14.5\n",
        rows={"2024-01-15T12:00": {"feed_pressure_bar": 13.5}},
        columns={"Feed P A (bar)": "", "Feed P C (bar)": ""},
        train="Train B",
    ),
    Awkward(
        "Early, late and night in German",
        "shifts by name before the unit; one remark for the day",
        "Datum;Druck Zulauf Früh (bar);Druck Zulauf Spät (bar);Druck Zulauf Nacht (bar);Permeat Früh (m³/h);"
        "Permeat Spät (m³/h);Permeat Nacht (m³/h);Bemerkung\n15.01.2024;12,5;12,6;12,7;14,1;14,2;14,3;Filter gespült\n",
        rows={"2024-01-15T22:00": {"feed_pressure_bar": 12.7, "permeate_flow_m3h": 14.3, "remark": "Filter gespült"}},
        asks=("At what time of day is each shift read?",),
    ),
    Awkward(
        "Times of day across the top",
        "times below the names of quantities, which stand over three columns",
        "Date,Feed pressure (bar),,,Permeate flow (m3/h),,\n,06:00,14:00,22:00,06:00,14:00,22:00\n"
        "15/01/2024,12.5,12.6,12.7,14.1,14.2,14.3\n16/01/2024,12.5,12.6,12.8,14.1,14.2,\n",
        rows={"2024-01-15T06:00": {"feed_pressure_bar": 12.5}, "2024-01-15T22:00": {"permeate_flow_m3h": 14.3}},
        count=6,
    ),
    Awkward(
        "Times of day across the top of a workbook",
        "true times in the cells of the header",
        workbook({"Log": [
            ["Date", "Feed pressure (bar)", None, "Permeate flow (m3/h)", None],
            [None, time(6), time(18), time(6), time(18)],
            [date(2024, 1, 15), 12.5, 12.6, 14.1, 14.2], [date(2024, 1, 16), 12.5, 12.7, 14.1, 14.3],
        ]}),
        rows={"2024-01-16T18:00": {"feed_pressure_bar": 12.7, "permeate_flow_m3h": 14.3}},
        count=4,
        file="log.xlsx",
    ),
    Awkward(
        "Means of an hour and of a day",
        "1h and 24h are spans, not times of day",
        "Date,Feed pressure 24h avg (bar),Permeate flow 24h avg (m3/h),Feed pressure 1h avg (bar)\n"
        "15/01/2024,12.5,14.1,12.9\n",
        rows={"2024-01-15T12:00": {"permeate_flow_m3h": 14.1}},
    ),
    Awkward(
        "The date in the title",
        "one day; clock times alone below",
        "Daily log sheet,,,\nDate: 15 January 2024,,,\nTime,Feed pressure (bar),Permeate flow (m3/h),Feed temp (C)\n"
        "06:00,12.5,14.1,17.5\n14:00,12.6,14.1,17.6\n",
        rows={"2024-01-15T06:00": {"feed_pressure_bar": 12.5}, "2024-01-15T14:00": {"feed_temperature_c": 17.6}},
        count=2,
        notes=("Dates stand above the readings",),
    ),
    Awkward(
        "A block a day",
        "a row with the date, the header again and a blank row between the days",
        "Date,15/01/2024,,\nTime,Feed pressure (bar),Permeate flow (m3/h),Temp (C)\n06:00,12.5,14.1,17.5\n"
        "14:00,12.6,14.1,17.5\n,,,\nDate,16/01/2024,,\nTime,Feed pressure (bar),Permeate flow (m3/h),Temp (C)\n"
        "06:00,12.7,14.1,17.5\n",
        rows={"2024-01-15T14:00": {"feed_pressure_bar": 12.6}, "2024-01-16T06:00": {"feed_pressure_bar": 12.7}},
        count=3,
    ),
    Awkward(
        "Dates between the readings",
        "the date alone in the column of the clock times",
        "Time,Feed pressure (bar),Permeate flow (m3/h)\n15/01/2024,,\n06:00,12.5,14.1\n14:00,12.6,14.1\n16/01/2024,,\n"
        "06:00,12.7,14.1\n",
        rows={"2024-01-15T14:00": {"feed_pressure_bar": 12.6}, "2024-01-16T06:00": {"feed_pressure_bar": 12.7}},
        count=3,
    ),
    Awkward(
        "American blocks",
        "the date behind words, month first; AM and PM",
        "Daily log 1/15/2024,,\nTime,Feed pressure (psi),Perm flow (gpm)\n6:00 AM,181,62\n2:00 PM,182,62\n"
        "Daily log 1/16/2024,,\nTime,Feed pressure (psi),Perm flow (gpm)\n6:00 AM,183,62\n",
        rows={"2024-01-15T14:00": {"feed_pressure_bar": 182 * PSI},
              "2024-01-16T06:00": {"feed_pressure_bar": 183 * PSI}},
        count=3,
        zone="America/New_York",
    ),
    Awkward(
        "A sheet a day",
        "sheets called after their days; clock times alone",
        workbook({"15.01.2024": [HEAD, ["06:00", 12.5, 14.1], ["14:00", 12.6, 14.1]],
                  "16.01.2024": [HEAD, [time(6), 12.7, 14.1], [time(14), 12.8, 14.1]]}),
        rows={"2024-01-15T14:00": {"feed_pressure_bar": 12.6}, "2024-01-16T06:00": {"feed_pressure_bar": 12.7}},
        count=4,
        file="log.xlsx",
    ),
    Awkward(
        "Clock times, and the day in the name of the file",
        "the day stands in the name of the file alone; times go on past midnight",
        "Time,Feed pressure (bar),Permeate flow (m3/h)\n06:00,12.5,14.1\n14:00,12.6,14.1\n"
        "02:00,12.7,14.1\n",
        rows={"2024-01-15T14:00": {"feed_pressure_bar": 12.6}, "2024-01-16T02:00": {"feed_pressure_bar": 12.7}},
        notes=("“RO1 2024-01-15.csv” says 2024-01-15, and past midnight the next day begins",),
        file="RO1 2024-01-15.csv",
    ),
    Awkward(
        "Date numbers with a comma",
        "date numbers of a spreadsheet in a text with decimal commas",
        "Datum;Druck Feed [bar];Durchfluss Permeat [m³/h]\n45306,25;12,5;14,1\n45306,75;12,6;14,1\n",
        rows={"2024-01-15T06:00": {"feed_pressure_bar": 12.5}, "2024-01-15T18:00": {"feed_pressure_bar": 12.6}},
    ),
    Awkward(
        "Hours apart",
        "06 h 30",
        "Date;Heure;Pression alim. (bar)\n15/01/2024;06 h 30;12,5\n15/01/2024;14 h 30;12,6\n",
        rows={"2024-01-15T14:30": {"feed_pressure_bar": 12.6}},
    ),
    Awkward(
        "The year behind the time",
        "times as a family of computers writes them, with the zone",
        "Time,Feed Pressure (PSI)\nMon Jan 15 06:00:00 EST 2024,181\nMon Jan 15 07:00:00 EST 2024,182\n",
        rows={"2024-01-15T07:00": {"feed_pressure_bar": 182 * PSI}},
        zone="America/New_York",
    ),
    Awkward(
        "Shifts by their hours",
        "from and to beside a date that comes three times",
        "Date,Hours,Feed pressure (bar)\n15/01/2024,06-14,12.5\n15/01/2024,14-22,12.6\n15/01/2024,22-06,12.7\n",
        rows={"2024-01-15T22:00": {"feed_pressure_bar": 12.7}},
        count=3,
        asks=("At what time of day is each shift read? The file has only their names: 06-14 06:00",),
    ),
    Awkward(
        "A date of printing between the date and the table",
        "the last date before the readings is not theirs",
        "Date: 15.01.2024,,\nPrinted: 20.02.2024,,\nTime,Feed pressure (bar),Permeate flow (m3/h)\n06:00,12.5,14\n"
        "14:00,12.6,14\n",
        rows={"2024-01-15T06:00": {"feed_pressure_bar": 12.5}},
        count=2,
    ),
    Awkward(
        "Days and clock times on sheets called Jan 24",
        "24 is the year, though it could be a day",
        workbook({"Jan 24": [["Day", *HEAD], [1, "06:00", 12.5, 14.1], [2, "06:00", 12.6, 14.1]],
                  "Feb 24": [["Day", *HEAD], [1, "06:00", 12.7, 14.1]]}),
        rows={"2024-01-02T06:00": {"feed_pressure_bar": 12.6}, "2024-02-01T06:00": {"feed_pressure_bar": 12.7}},
        count=3,
        file="log.xlsx",
    ),
    Awkward(
        "Three meters by letters",
        "pH A, B and C beside one pressure: instruments, not shifts",
        "Date,pH A,pH B,pH C,Feed pressure (bar)\n15/01/2024,7.1,7.2,7.2,12.5\n16/01/2024,7.1,7.2,7.2,12.5\n",
        rows={"2024-01-15T12:00": {"feed_pressure_bar": 12.5}},
        columns={"pH B": ""},
        count=2,
    ),
)  # fmt: skip
