"""Awkward tables by how they say when: parts of dates, days alone, AM and PM apart, two clocks. All invented."""

from datetime import date

from server.intake.understand.compile import Corrections
from server.intake.understand.understanding import Choices
from tests.server.intake.tables.awkward import GPM, PSI, Awkward
from tests.server.intake.tables.workbooks import workbook

_DAYS = [["Day", "Feed press psi", "Perm flow gpm"], [30, 174, 62], [31, 175, 62]]
_NEXT = [["Day", "Feed press psi", "Perm flow gpm"], [1, 176, 61], [2, 176, 61]]

DAYS = (
    Awkward(
        "Year, month and day apart",
        "three columns of numbers and one of clock times",
        "Year,Month,Day,Time,Feed pressure (bar),Permeate flow (m3/h)\n2024,1,5,06:00,12.5,14.1\n"
        "2024,1,6,06:00,12.6,14\n",
        rows={"2024-01-05T06:00": {"feed_pressure_bar": 12.5}, "2024-01-06T06:00": {"permeate_flow_m3h": 14}},
        count=2,
    ),
    Awkward(
        "Year, month and day apart, in German",
        "names of months; two figures for the year; the hour as a number",
        "Jahr;Monat;Tag;Stunde;Druck Zulauf bar;Permeat m3/h\n24;Januar;5;6;12,5;14,1\n24;Mai;6;14;12,6;14,0\n",
        rows={"2024-01-05T06:00": {"feed_pressure_bar": 12.5}, "2024-05-06T14:00": {"permeate_flow_m3h": 14}},
        count=2,
    ),
    Awkward(
        "Month and day apart",
        "no year anywhere but in the name of the file; the year turns",
        "Month,Day,Feed pressure (bar),Permeate flow (m3/h)\nDec,30,12.5,14\nDec,31,12.6,14\nJan,1,12.7,14\n",
        asks=("Of which year is the first reading?",),
        rows={"2024-12-31T12:00": {"feed_pressure_bar": 12.6}, "2025-01-01T12:00": {"feed_pressure_bar": 12.7}},
        count=3,
        file="RO log 2024.csv",
    ),
    Awkward(
        "Days alone below a title",
        "the month stands in the title; the days begin anew in the middle, a heading says February",
        "RO daily log sheet,,,\nMonth: January 2024,,,\nDay,Feed press psi,Perm flow gpm,Perm cond uS\n30,174,62,23\n"
        "31,175,62,23\nFEBRUARY 2024,,,\n1,175,61,24\n2,176,62,24\n",
        asks=("Of which month is the first reading? Its dates are days alone. “Month: January 2024” says 2024-01.",),
        rows={
            "2024-01-31T12:00": {"feed_pressure_bar": 175 * PSI}, "2024-02-02T12:00": {"feed_pressure_bar": 176 * PSI},
        },
        count=4,
        notes=("A row of text alone was left out: row 6",),
    ),
    Awkward(
        "Days alone, month and year in cells of a letterhead",
        "eight rows above the header; month and year each in a cell of its own; clock times beside",
        "Blue Bay Hotel,,,,\nEngineering,,,,\nRO PLANT DAILY LOG,,,,\nPlant:,RO 1,,Capacity:,340\n"
        "Month:,January,,Year:,2024\nOperator:,,,,\n,,,,\n"
        "Day,Time,Feed press (bar),Brine press (bar),Product flow (m3/h)\n15,08:00,12.5,10.4,14\n"
        "16,08:00,12.6,10.4,14\n17,08:00,,,\n",
        asks=("“January” says 2024-01.",),
        rows={"2024-01-16T08:00": {"feed_pressure_bar": 12.6, "concentrate_pressure_bar": 10.4}},
        count=2,
        notes=("A row without any value was left out: row 11",),
    ),
    Awkward(
        "Days alone, and nothing names the month",
        "only a person can tell",
        "Day,Feed press psi,Perm flow gpm\n1,174,62\n2,175,62\n3,175,61\n",
        asks=("Of which month is the first reading? Its dates are days alone.",),
        says=Corrections(month="2023-11"),
        rows={"2023-11-03T12:00": {"permeate_flow_m3h": 61 * GPM}},
        count=3,
    ),
    Awkward(
        "Days alone, newest first, one that no month has",
        "the days go down; 31 June",
        "Day,Feed press bar,Perm flow m3/h\n2,12.5,14\n1,12.6,14\n31,12.7,14\n30,12.8,14\n",
        asks=("Of which month is the first reading?",),
        says=Corrections(month="2023-07"),
        rows={"2023-07-01T12:00": {"feed_pressure_bar": 12.6}, "2023-06-30T12:00": {"feed_pressure_bar": 12.8}},
        count=3,
        problems=((4, "Day", '"2023-06-31" is not a time'),),
    ),
    Awkward(
        "Days alone on sheets called after months with their year",
        "every sheet says its month: nothing is to be asked",
        workbook({"Jan 2024": _DAYS, "Feb 2024": _NEXT}),
        rows={
            "2024-01-31T12:00": {"feed_pressure_bar": 175 * PSI}, "2024-02-01T12:00": {"feed_pressure_bar": 176 * PSI},
        },
        count=4,
        file="log.xlsx",
    ),
    Awkward(
        "Days alone on sheets called after months",
        "the year stands in the name of the file; a month between is missing",
        workbook({"Dec": _DAYS, "Feb": _NEXT}),
        asks=("“Dec” says 2023-12.",),
        rows={
            "2023-12-31T12:00": {"feed_pressure_bar": 175 * PSI}, "2024-02-01T12:00": {"feed_pressure_bar": 176 * PSI},
        },
        count=4,
        file="RO 2023.xlsx",
    ),
    Awkward(
        "Days across the top",
        "on its side, days alone; the month in the title above; units in a column of their own",
        "RO PLANT LOG JANUARY 2024,,,,,,\nParameter,Unit,1,2,3,4,5\nFeed pressure,psi,174,175,174,175,176\n"
        "Permeate flow,gpm,62,62,62,61,low\n",
        asks=("“RO PLANT LOG JANUARY 2024” says 2024-01.",),
        rows={"2024-01-04T12:00": {"feed_pressure_bar": 175 * PSI, "permeate_flow_m3h": 61 * GPM}},
        count=5,
        problems=((7, "Permeate flow gpm", 'column G, row "Permeate flow gpm": "low" is not a number'),),
    ),
    Awkward(
        "AM and PM in a column of their own",
        "a clock of twelve hours whose half stands apart; half past noon and midnight",
        "Date,Time,AM/PM,Feed Press (psi),Product (gpm)\n01/15/2024,12:30,AM,173,62\n01/15/2024,6:00,AM,174,62\n"
        "01/15/2024,12:30,PM,175,62\n01/15/2024,2:00,PM,176,62\n",
        rows={
            "2024-01-15T00:30": {"feed_pressure_bar": 173 * PSI}, "2024-01-15T12:30": {"feed_pressure_bar": 175 * PSI},
            "2024-01-15T14:00": {"feed_pressure_bar": 176 * PSI},
        },
        count=4,
        notes=('"AM/PM" says whether "Time" is before noon or after',),
        zone="America/Denver",
    ),
    Awkward(
        "AM and PM without clock times",
        "two readings a day",
        "Date,AM/PM,Feed Press (psi),Product (gpm)\n01/15/2024,AM,174,62\n01/15/2024,PM,175,62\n01/16/2024,AM,174,62\n",
        asks=("At what time of day is each shift read? The file has only their names: AM 06:00, PM 14:00.",),
        rows={"2024-01-15T14:00": {"feed_pressure_bar": 175 * PSI}},
        count=3,
    ),
    Awkward(
        "Twelve hours without AM or PM",
        "6:00, 2:00 and 10:00 every day",
        "Date,Time,Feed psi,Perm gpm\n1/15/2024,6:00,174,62\n1/15/2024,2:00,175,62\n1/15/2024,10:00,175,62\n"
        "1/16/2024,6:00,174,62\n1/16/2024,2:00,175,62\n1/16/2024,10:00,175,62\n",
        asks=("No time is later than 12:59, and on 2 of 2 dates the times go back",),
        says=Corrections(noon_by_order=True),
        rows={when: {"feed_pressure_bar": 175 * PSI} for when in ("2024-01-15T14:00", "2024-01-15T22:00")},
        count=6,
    ),
    Awkward(
        "Hours and quarters in a workbook as numbers",
        "7.3 could be half past seven or eighteen past: nobody can tell, so it is refused and not taken at noon",
        workbook({"Log": [["Date", "Time", "Feed pressure bar"], [date(2024, 1, 15), 7.3, 12.5],
                          [date(2024, 1, 15), 15.3, 12.5]]}),
        problems=((2, "Time", '"7.3" is not a time of day'), (3, "Time", '"15.3" is not a time of day')),
        count=0,
        file="log.xlsx",
    ),
    Awkward(
        "Clock times in every spelling",
        "7h30, 15h, 24:00, 0730 and 7.45",
        "Date;Heure;Pression alim (bar)\n15/01/2024;7h30;12,1\n15/01/2024;15h;12,2\n15/01/2024;24:00;12,3\n"
        "16/01/2024;0730;12,4\n16/01/2024;7.45;12,5\n",
        rows={
            "2024-01-15T15:00": {"feed_pressure_bar": 12.2}, "2024-01-16T00:00": {"feed_pressure_bar": 12.3},
            "2024-01-16T07:45": {"feed_pressure_bar": 12.5},
        },
        count=5,
    ),
    Awkward(
        "Two clocks",
        "a time by UTC and one by the local clock beside the date",
        "Date,Time (UTC),Time (local),Feed pressure (bar)\n15/07/2024,05:00,06:00,12.5\n16/07/2024,05:00,06:00,12.6\n",
        rows={"2024-07-15T06:00": {"feed_pressure_bar": 12.5}},
        count=2,
    ),
    Awkward(
        "A clock by UTC alone",
        "the name of the clock column says the zone",
        "Date,Time (UTC),Feed pressure (bar)\n15/07/2024,05:00,12.5\n16/07/2024,05:00,12.6\n",
        rows={"2024-07-15T06:00": {"feed_pressure_bar": 12.5}},
        count=2,
    ),
    Awkward(
        "A flow by the day beside the date",
        "the unit has the word day; hours run that look like a time of day; a running time",
        "Date,Permeate (m3/day),Hours,Run time,Feed (bar)\n15/01/2024,338,1210,8,12.5\n16/01/2024,338,1234,7.5,12.6\n",
        rows={"2024-01-15T12:00": {"permeate_flow_m3h": 338 / 24, "hours_counter_h": 1210}},
        count=2,
    ),
    Awkward(
        "Dates spelled in English",
        "names of weekdays before; 3-Nov-25",
        "Date,Feed P (psig),Perm Q (gpm),Temp F\nMon 3-Nov-25,174,62,63\nTue 4-Nov-25,175,62,63\n",
        rows={"2025-11-03T12:00": {"feed_pressure_bar": 174 * PSI}},
        count=2,
    ),
    Awkward(
        "Two tables side by side",
        "each train has its own dates; those of the other are of other days",
        "RO 1,,,,RO 2,,\nDate,Feed psi,Perm gpm,,Date,Feed psi,Perm gpm\n1/15/2024,174,62,,1/25/2024,180,60\n"
        "1/16/2024,175,62,,1/26/2024,181,60\n",
        rows={"2024-01-25T12:00": {"feed_pressure_bar": 180 * PSI, "permeate_flow_m3h": 60 * GPM}},
        count=2,
        train="RO 2",
    ),
    Awkward(
        "Trains that are called otherwise here",
        "two trains side by side, and no name like that of this one",
        "Date,Train A,,Train B,\n,Feed psi,Perm gpm,Feed psi,Perm gpm\n1/15/2024,174,62,180,60\n"
        "1/16/2024,175,62,181,60\n",
        asks=("Which train is meant? The file holds several: “A”, “B”.",),
        layout=Choices(train="B"),
        rows={"2024-01-15T12:00": {"feed_pressure_bar": 180 * PSI}},
        count=2,
        train="Skid north",
    ),
    Awkward(
        "Trains below each other, called otherwise here",
        "rows of two trains, and no name like that of this one",
        "Date,Skid,Feed Press (bar)\n2024-01-15,North,12.5\n2024-01-15,South,11.5\n2024-01-16,North,12.6\n",
        asks=("Which train is meant? The file holds several: “North”, “South”.",),
        layout=Choices(train="North"),
        rows={"2024-01-15T12:00": {"feed_pressure_bar": 12.5}},
        count=2,
        train="Train 7",
    ),
)  # fmt: skip
