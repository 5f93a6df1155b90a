"""Awkward tables by their form: on their side, divided by spaces, dates without a year, shifts. All invented."""

from server.intake.understand.compile import Corrections
from tests.server.intake.tables.awkward import GPM, PSI, Awkward

FORMS = (
    Awkward(
        "Dates across the top",
        "lies on its side; a title above; the unit in a column of its own; a dash for no value; a row of remarks",
        "Umkehrosmose RO 1,,,,\nParameter,Unit,05/01/2024,06/01/2024,17/01/2024\nFeed pressure,bar,12.5,12.6,12.7\n"
        "Permeate flow,m3/h,14.1,14.0,13.9\nPermeate cond,uS/cm,23,24,-\nRemarks,,ok,,probe cleaned\n",
        rows={
            "2024-01-05T12:00": {"feed_pressure_bar": 12.5, "permeate_flow_m3h": 14.1, "remark": "ok"},
            "2024-01-17T12:00": {"feed_pressure_bar": 12.7, "remark": "probe cleaned"},
        },
        count=3,
        notes=("each column of the file is a reading",),
    ),
    Awkward(
        "Dates and clock times across the top",
        "the date only over the first reading of its day; decimal comma; German",
        ";05.01.2024;;06.01.2024;\nUhrzeit;06:00;14:00;06:00;14:00\nDruck Zulauf [bar];12,5;12,6;12,6;12,7\n"
        "Permeat [m3/h];14,1;14,0;14,0;13,9\n",
        rows={"2024-01-05T14:00": {"feed_pressure_bar": 12.6}, "2024-01-06T14:00": {"permeate_flow_m3h": 13.9}},
        count=4,
        notes=("is given once a day",),
    ),
    Awkward(
        "On its side, in groups",
        "headings of groups between the rows; a cell with text among the numbers",
        "Item;15/01/2024;16/01/2024\nFeed;;\nPressure (psi);174;175\nTemperature (°F);63;63\nPermeate;;\n"
        "Flow (gpm);62;off\nConductivity (µS/cm);23;low\n",
        rows={"2024-01-15T12:00": {"feed_pressure_bar": 174 * PSI, "permeate_flow_m3h": 62 * GPM}},
        count=2,
        problems=(
            (3, "Permeate Conductivity (µS/cm)", 'column C, row "Permeate Conductivity (µS/cm)": "low" is not a'),
        ),
    ),
    Awkward(
        "Printout of fixed width",
        "divided by spaces; units below the names; an empty cell in its place",
        "Date        Time   Feed pressure  Permeate flow\n                   bar            m3/h\n"
        "05/01/2024  06:00  12.5           14.1\n15/01/2024  14:00  12.6           14.0\n"
        "15/01/2024  22:00                 13.9\n",
        rows={"2024-01-15T22:00": {"permeate_flow_m3h": 13.9}, "2024-01-05T06:00": {"feed_pressure_bar": 12.5}},
        count=3,
        file="log.txt",
    ),
    Awkward(
        "Single spaces",
        "one space between words; date and clock time under one name",
        "time feed_pressure_bar permeate_flow_m3h\n2024-01-05 06:00 12.5 14.1\n2024-01-05 14:00 9.6 8\n",
        rows={"2024-01-05T14:00": {"feed_pressure_bar": 9.6, "permeate_flow_m3h": 8}},
        count=2,
        file="log.prn",
    ),
    Awkward(
        "Numbers set to the right, with decimal commas",
        "spaces between columns, commas in numbers; nothing else could divide them",
        "     Datum  Druck Zulauf bar  Permeat m3/h\n15.01.2024              12,5          14,1\n"
        "16.01.2024               9,5          14,0\n17.01.2024                            13,9\n",
        rows={"2024-01-16T12:00": {"feed_pressure_bar": 9.5}, "2024-01-17T12:00": {"permeate_flow_m3h": 13.9}},
        count=3,
        file="log.txt",
    ),
    Awkward(
        "Dates without a year",
        "day and month alone; a turn of the year; the name of the file says the year",
        "date;feed pressure bar;permeate flow m3/h\n30.12. 06:00;12,5;14,1\n31.12. 06:00;12,6;14,0\n"
        "01.01. 06:00;12,6;14,2\n",
        asks=("Of which year is the first reading? Its dates have no year. “log 2024.csv” says 2024.",),
        rows={"2024-12-30T06:00": {"feed_pressure_bar": 12.5}, "2025-01-01T06:00": {"permeate_flow_m3h": 14.2}},
        count=3,
        file="log 2024.csv",
    ),
    Awkward(
        "Dates without a year, that nothing tells",
        "names of months; no year anywhere; newest first",
        "Date,Feed pressure (bar),Permeate flow (m3/h)\n2 Jan,12.5,14.1\n1 Jan,12.6,14\nDec 31,12.7,14\n",
        asks=("Of which year is the first reading? Its dates have no year.",),
        says=Corrections(year=2023),
        rows={"2023-01-02T12:00": {"feed_pressure_bar": 12.5}, "2022-12-31T12:00": {"feed_pressure_bar": 12.7}},
        count=3,
    ),
    Awkward(
        "Two shifts by name",
        "no clock times; day and night",
        "Date,Shift,Feed pressure (bar),Permeate flow (m3/h)\n15/01/2024,Day,12.5,14\n15/01/2024,Night,12.6,14\n"
        "16/01/2024,Day,12.6,14\n16/01/2024,Night,12.7,14\n",
        asks=("At what time of day is each shift read?",),
        says=Corrections(shifts={"Night": "22:00"}),
        rows={"2024-01-15T06:00": {"feed_pressure_bar": 12.5}, "2024-01-16T22:00": {"feed_pressure_bar": 12.7}},
        count=4,
    ),
    Awkward(
        "Three shifts in German",
        "the date once a day, shifts by name",
        "Datum;Schicht;Druck Zulauf (bar);Permeat (m3/h)\n15.01.2024;Früh;12,5;14\n;Spät;12,6;14\n;Nacht;12,7;14\n"
        "16.01.2024;Früh;12,5;14\n",
        asks=("Früh 06:00, Spät 14:00, Nacht 22:00",),
        rows={"2024-01-15T22:00": {"feed_pressure_bar": 12.7}, "2024-01-16T06:00": {"feed_pressure_bar": 12.5}},
        count=4,
    ),
    Awkward(
        "Averages in between",
        "a row of averages in the middle of its words; a sign for the mean; a total",
        "Date,Feed pressure (bar),Permeate flow (m3/h)\n14/01/2024,12.5,14\n15/01/2024,12.7,14\n"
        "Week 2 average,12.6,14\n16/01/2024,12.6,14\nØ,12.6,14\nMonthly total,,336\n",
        count=3,
        notes=("sums, averages or limits was left out: rows 4, 6, 7",),
    ),
    Awkward(
        "Pages glued together",
        "title and header come again on every page; a last line with the number of pages",
        "Plant A - page 1,,\nDate,Feed pressure (bar),Permeate flow (m3/h)\n14/01/2024,12.5,14\nPlant A - page 2,,\n"
        "Date,Feed pressure (bar),Permeate flow (m3/h)\n16/01/2024,12.6,14\nPage 3 of 3,,\n",
        count=2,
        notes=("The header comes again and was left out: row 5", "A row of text alone was left out: rows 4, 7"),
    ),
)
