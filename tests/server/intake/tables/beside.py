"""Tables in parts, of other letters, with parts of the time left out, and columns that are not what they are called."""

from datetime import date, datetime
from typing import Any

from server.intake.understand.compile import Corrections
from tests.server.intake.tables.awkward import GPM, PSI, Awkward
from tests.server.intake.tables.workbooks import workbook

FIRST, SECOND = datetime(2024, 6, 1, 8), datetime(2024, 6, 1, 20)  # noqa: DTZ001  # by the clock of the plant
STAGES = ["Date", "Feed pressure bar", "Permeate flow m3/h"]
RUSSIAN = (
    "Дата;Время;Давление на входе, бар;Расход пермеата, м3/ч;Электропроводность пермеата, мкСм/см\n"
    "15.01.2024;08:00;13,26;46,1;85,4\n16.01.2024;08:00;12,84;46,4;82,7\n"
)
JAPANESE = (
    "日付,時刻,供給水圧力(MPa),透過水流量(m3/h),透過水導電率(mS/m),水温(℃)\n"
    "2024年01月15日,09時00分,1.326,46.1,8.54,18.5\n2024年01月16日,09時30分,1.284,46.4,8.27,18.6\n"
)
CHINESE = (
    "时间,进水压力(MPa),产水流量(m3/h),产水电导率(μS/cm),备注\n"
    "2024/01/15 09:00,1.326,46.1,85.4,正常\n2024/01/16 09:00,1.284,46.4,82.7,正常\n"
)
GREEK = (
    "Ημερομηνία;Πίεση τροφοδοσίας (bar);Παροχή διηθήματος (m3/h)\n15/01/2024 08:00;13,2;46,1\n"
    "16/01/2024 08:00;12,8;46,4\n"
)


def _merged_dates(book: Any, sheets: dict[str, Any]) -> None:
    look = book.add_format({"num_format": "dd/mm/yyyy"})
    for day, column in ((date(2024, 5, 13), 2), (date(2024, 5, 14), 5)):
        sheets["W20"].merge_range(0, column, 0, column + 2, day, look)


BESIDE = (
    Awkward(
        "A sheet for each stage",
        "the same headers in both sheets; the name of the sheet says the stage; times are the same",
        workbook(
            {
                "Stage 1": [STAGES, [FIRST, 13.2, 32.0], [SECOND, 13.3, 32.1]],
                "Stage 2": [STAGES, [FIRST, 12.1, 13.0], [SECOND, 12.2, 13.1]],
            }
        ),
        columns={"Stage 2 Feed pressure bar": "stage2_feed_pressure [bar]"},
        rows={
            "2024-06-01T20:00": {
                "feed_pressure_bar": 13.3,
                "stage1_permeate_flow_m3h": 32.1,
                "stage2_feed_pressure_bar": 12.2,
                "stage2_permeate_flow_m3h": 13.1,
            }
        },
        count=2,
        notes=("Each sheet holds other quantities: they are put side by side",),
        file="stages.xlsx",
    ),
    Awkward(
        "A sheet for each measurement",
        "one quantity a sheet, other headers in each",
        workbook(
            {
                "Pressure": [["Date", "Feed Pressure (bar)"], [FIRST, 13.2], [SECOND, 13.3]],
                "Flow": [["Date", "Permeate Flow (m3/h)"], [FIRST, 45.0], [SECOND, 45.1]],
            }
        ),
        rows={"2024-06-01T08:00": {"feed_pressure_bar": 13.2, "permeate_flow_m3h": 45.0}},
        count=2,
        file="params.xlsx",
    ),
    Awkward(
        "A row for each point of sampling",
        "a sheet of the laboratory: the water stands in a column, the analyses across",
        "Sample date,Sample point,Conductivity (µS/cm),pH,TDS (mg/L)\n"
        "2024-03-20,RO Feed,3127,7.1,1950\n2024-03-20,RO Permeate,85.4,5.9,46\n"
        "2024-03-21,RO Feed,3249,7.2,1990\n2024-03-21,RO Permeate,82.7,5.8,45\n",
        rows={
            "2024-03-21T12:00": {
                "feed_conductivity_us_cm": 3249.0,
                "permeate_conductivity_us_cm": 82.7,
                "feed_ph": 7.2,
                "permeate_ph": 5.8,
                "permeate_tds_mg_l": 45.0,
            }
        },
        count=2,
        notes=('Each value of "Sample point" stands for other quantities',),
    ),
    Awkward(
        "A column of times before each value",
        "the values of one row were read at other times",
        "Time,Feed Pressure (bar),Time,Permeate Flow (m3/h)\n"
        "2024-03-20 08:00,13.2,2024-03-20 08:07,45.0\n2024-03-20 14:00,13.3,2024-03-20 14:00,45.1\n",
        rows={
            "2024-03-20T08:00": {"feed_pressure_bar": 13.2},
            "2024-03-20T08:07": {"permeate_flow_m3h": 45.0},
            "2024-03-20T14:00": {"feed_pressure_bar": 13.3, "permeate_flow_m3h": 45.1},
        },
        count=3,
    ),
    Awkward(
        "Two trains under each other",
        "a title before each; the times of the second are those of the first",
        "RO 1\nDate,Feed Pressure (bar)\n2024-03-20 08:00,13.2\n2024-03-21 08:00,13.3\n\n"
        "RO 2\nDate,Feed Pressure (bar)\n2024-03-20 08:00,15.2\n2024-03-21 08:00,15.3\n",
        rows={"2024-03-20T08:00": {"feed_pressure_bar": 15.2}},
        count=2,
        train="RO 2",
        notes=("Several trains stand under each other", 'Only rows where "train above" says "RO 2" are read'),
    ),
    Awkward(
        "Two trains in one table, and nothing says which row is whose",
        "every time twice with other values",
        "Date,Feed Pressure (bar)\n2024-03-20 08:00,13.2\n2024-03-20 20:00,13.3\n2024-03-20 08:00,15.2\n"
        "2024-03-20 20:00,15.3\n",
        asks=("Why do 2 of 2 times come more than once, with other values (row 2 and row 4)?",),
        rows={"2024-03-20T08:00": {"feed_pressure_bar": 13.2}},
    ),
    Awkward(
        "The total of two trains beside them",
        "a total that belongs to neither",
        "Date,RO1 Permeate Flow (m3/h),RO2 Permeate Flow (m3/h),Total Permeate Flow (m3/h)\n"
        "2024-03-20 08:00,45.0,49.5,94.5\n2024-03-21 08:00,46.0,49.0,95.0\n",
        rows={"2024-03-20T08:00": {"permeate_flow_m3h": 45.0}},
        columns={"Total Permeate Flow (m3/h)": ""},
    ),
    Awkward(
        "Other steps of treatment beside the membranes",
        "ultrafiltration and softener have feeds and permeates of their own",
        "Date,1st pass feed pressure (bar),1st pass permeate flow (m3/h),UF feed pressure (bar),"
        "UF permeate flow (m3/h),Softener outlet flow (m3/h)\n2024-03-20 08:00,13.2,45.0,1.9,70.2,61.3\n",
        rows={"2024-03-20T08:00": {"feed_pressure_bar": 13.2, "permeate_flow_m3h": 45.0}},
        columns={"UF feed pressure (bar)": "", "UF permeate flow (m3/h)": "", "Softener outlet flow (m3/h)": ""},
    ),
    Awkward(
        "Tags above a row of units",
        "no word says what they are: the tags stay in the names, what can only be guessed is said to be one",
        "Timestamp,PT-101,PT-104,FIT-201\n,psig,psig,gpm\n2024-03-20 08:00,191.4,156.6,203\n"
        "2024-03-20 09:00,192,157,204\n",
        columns={"PT-101 psig": "feed_pressure [psi]", "PT-104 psig": "concentrate_pressure [psi]", "FIT-201 gpm": ""},
    ),
    Awkward(
        "Minutes in a column of their own",
        "year, month, day, hour and minute",
        "Year,Month,Day,Hour,Minute,Feed Pressure (bar)\n2024,3,20,8,15,13.2\n2024,3,20,16,45,13.3\n",
        rows={"2024-03-20T08:15": {"feed_pressure_bar": 13.2}, "2024-03-20T16:45": {"feed_pressure_bar": 13.3}},
    ),
    Awkward(
        "Six o'clock twice a day",
        "a clock of twelve hours that does not say which; the newest reading stands first",
        "Date,Time,Feed Pressure (bar)\n2024-05-02,06:00,13.5\n2024-05-02,06:00,13.4\n2024-05-01,06:00,13.3\n"
        "2024-05-01,06:00,13.2\n",
        asks=("Which times are after noon?",),
        says=Corrections(noon_by_order=True),
        rows={
            "2024-05-01T06:00": {"feed_pressure_bar": 13.2},
            "2024-05-01T18:00": {"feed_pressure_bar": 13.3},
            "2024-05-02T18:00": {"feed_pressure_bar": 13.5},
        },
        count=4,
    ),
    Awkward(
        "A day in the name of the file that can be read in two ways",
        "05-06-2024",
        "Time,Feed pressure (bar)\n06:00,12.5\n14:00,12.6\n",
        asks=("Of which day is the first reading?",),
        says=Corrections(day="2024-05-06"),
        rows={"2024-05-06T14:00": {"feed_pressure_bar": 12.6}},
        file="log 05-06-2024.csv",
    ),
    Awkward(
        "Shifts below dates of a table on its side",
        "each date merged over its three shifts",
        workbook(
            {
                "W20": [
                    ["Parameter", "Unit", date(2024, 5, 13), None, None, date(2024, 5, 14), None, None],
                    [None, None, *["Morning", "Evening", "Night"] * 2],
                    ["Feed pressure", "bar", 13.1, 13.2, 13.3, 13.4, 13.5, 13.6],
                ]
            },
            _merged_dates,
        ),
        asks=("At what time of day is each shift read?",),
        rows={"2024-05-13T14:00": {"feed_pressure_bar": 13.2}, "2024-05-14T22:00": {"feed_pressure_bar": 13.6}},
        count=6,
        file="week.xlsx",
    ),
    Awkward(
        "A unit that was changed on the way",
        "bar up to a day, psi from then on, and no unit in the name",
        "Date,Feed Pressure,Permeate Flow (m3/h)\n"
        + "".join(f"2024-03-{day:02d} 08:00,{13.2 if day < 6 else 191.5},45.0\n" for day in range(1, 12)),
        asks=("was its unit changed on the way, from bar to psi?",),
        stages=1,
    ),
    Awkward(
        "A lost decimal point in a column without a unit",
        "pH 71",
        "Date,Feed Pressure (bar),Feed pH\n2024-03-20 08:00,13.2,71\n"
        "2024-03-21 08:00,13.3,72\n2024-03-22 08:00,13.3,71\n",
        asks=("nothing but 0 to 14 can be true: did it lose a decimal point",),
    ),
    Awkward(
        "Units as science writes them",
        "m3 d-1 behind a slash, mc/h, kL/d, a unit behind a full stop",
        "Date/time,Permeate flow/m3 d-1,Portata concentrato [mc/h],Stage 1 permeate kL/d,Feed.bar\n"
        "2024-03-20 08:00,1107,15.0,768,13.2\n",
        rows={
            "2024-03-20T08:00": {
                "permeate_flow_m3h": 46.125,
                "concentrate_flow_m3h": 15.0,
                "stage1_permeate_flow_m3h": 32.0,
                "feed_pressure_bar": 13.2,
            }
        },
    ),
    Awkward(
        "A gauge for vacuum",
        "inHg vac counts downwards; nobody can tell whether a minus was left out",
        "Date,Pump suction (inHg vac),Feed pressure (psi)\n2024-03-20 08:00,5.0,191\n",
        asks=('"Pump suction (inHg vac)" is given in "inHg vac", a vacuum',),
        says=Corrections(columns={"Pump suction (inHg vac)": ""}),
        rows={"2024-03-20T08:00": {"feed_pressure_bar": 191 * PSI}},
    ),
    Awkward(
        "Marks between thousands as in India",
        "5,40,000 in quotation marks",
        'Date,Product flow (m³/hr),Product Totalizer (m³)\n2024-03-20 08:00,45.0,"5,40,000"\n'
        '2024-03-21 08:00,45.1,"5,40,345"\n',
        rows={"2024-03-21T08:00": {"permeate_counter_m3": 540345.0}},
    ),
    Awkward(
        "Milliseconds since 1970",
        "time_ms is no conductivity",
        "time_ms|feed_psi|perm_gpm\n1722852000000|191|203\n1722855600000|192|204\n",
        rows={"2024-08-05T11:00": {"feed_pressure_bar": 191 * PSI, "permeate_flow_m3h": 203 * GPM}},
    ),
    Awkward(
        "A filter before the filter",
        "PRE-FILT IN and OUT; Inter-stage",
        "Date,PRE-FILT IN PSI,PRE-FILT OUT PSI,Inter-stage Press psi,RO FEED PSI\n2024-03-20 08:00,49,45,177,191\n",
        rows={
            "2024-03-20T08:00": {
                "cartridge_inlet_pressure_bar": 49 * PSI,
                "cartridge_outlet_pressure_bar": 45 * PSI,
                "stage1_concentrate_pressure_bar": 177 * PSI,
                "feed_pressure_bar": 191 * PSI,
            }
        },
    ),
    Awkward(
        "Dates that a spreadsheet read the other way round",
        "days up to the 12th became true dates with day and month exchanged, the others stayed texts",
        workbook(
            {
                "S": [
                    ["Date", "Feed pressure (bar)"],
                    *[[date(2024, day, 3) if day <= 12 else f"{day}/03/2024", 13 + day / 100] for day in range(1, 20)],
                ]
            }
        ),
        asks=("with day and month exchanged, for so the readings follow each other; they are changed back",),
        rows={"2024-03-02T12:00": {"feed_pressure_bar": 13.02}, "2024-03-13T12:00": {"feed_pressure_bar": 13.13}},
        count=19,
        file="swapped.xlsx",
    ),
    Awkward(
        "A round of single vessels",
        "one day, a row for each vessel: no reading of a train",
        "Date,Vessel,Permeate conductivity (uS/cm)\n" + "".join(f"2024-03-20,V{n},{60 + n}\n" for n in range(1, 9)),
        asks=("Why do 1 of 1 times come more than once",),
    ),
    Awkward(
        "One point of sampling",
        "the water stands in a column, always the same",
        "Date,Sample point,Conductivity (uS/cm),pH\n2024-03-20 08:00,RO permeate,85,5.9\n"
        "2024-03-21 08:00,RO permeate,86,5.8\n",
        rows={"2024-03-21T08:00": {"permeate_conductivity_us_cm": 86.0, "permeate_ph": 5.8}},
    ),
    Awkward(
        "Stopped at the end",
        "the pressure falls once by about the factor between psi and bar, and stays: a stop is no change of unit",
        "Date,Feed Pressure (bar),Permeate Flow (m3/h)\n"
        + "".join(
            f"2024-03-{day} 08:00,{13.2 if day < 16 else 0.95},{45.0 if day < 16 else 0}\n" for day in range(10, 22)
        ),
        rows={"2024-03-21T08:00": {"feed_pressure_bar": 0.95}},
    ),
    Awkward(
        "A row for each stage",
        "the stage is a number in a column; all other names are those of a whole train",
        "Date,Stage,Feed pressure (psi),Permeate flow (gpm)\n2024-03-20 08:00,1,191,141\n2024-03-20 08:00,2,175,57\n"
        "2024-03-21 08:00,1,192,142\n2024-03-21 08:00,2,176,58\n",
        rows={
            "2024-03-21T08:00": {
                "feed_pressure_bar": 192 * PSI,
                "stage2_feed_pressure_bar": 176 * PSI,
                "stage1_permeate_flow_m3h": 142 * GPM,
                "stage2_permeate_flow_m3h": 58 * GPM,
            }
        },
        count=2,
    ),
    Awkward(
        "Several tags at one time of the morning",
        "a long table read once a day: the times stand from row to row, and nothing is wrong with that",
        "Tag,Timestamp,Value\n"
        + "".join(
            f"{tag},2024-03-{day} 08:00:00,{value}\n"
            for day in (20, 21, 22)
            for tag, value in (("Feed_Pressure_bar", 13.2), ("Permeate_Flow_m3h", 45.0))
        ),
        rows={"2024-03-20T08:00": {"feed_pressure_bar": 13.2, "permeate_flow_m3h": 45.0}},
        count=3,
    ),
    Awkward(
        "The name of the zone behind the time",
        "MST",
        "Date,Feed pressure (bar)\n2024-03-20 08:00 MST,13.2\n2024-03-20 02:00 PM MST,13.3\n",
        zone="Europe/Lisbon",
        rows={"2024-03-20T15:00": {"feed_pressure_bar": 13.2}, "2024-03-20T21:00": {"feed_pressure_bar": 13.3}},
    ),
    Awkward(
        "Months and their year",
        "means of months: Jan-24 is not the 24th of January",
        "Month,Feed pressure (bar),Permeate flow (m3/h)\nJan-24,13.2,45.0\nFeb-24,13.3,45.1\nMar-24,13.3,45.1\n",
        refused='has no column of dates or times among "Month"',
    ),
    *(
        Awkward(f"{name} text that is not UTF-8", f"written in {encoding}", text.encode(encoding), rows=rows, zone=zone)
        for name, encoding, text, rows, zone in (
            ("Russian", "cp1251", RUSSIAN, {"2024-01-15T08:00": {"feed_pressure_bar": 13.26}}, "Asia/Almaty"),
            ("Japanese", "cp932", JAPANESE, {"2024-01-16T09:30": {"feed_pressure_bar": 12.84}}, "Asia/Tokyo"),
            ("Chinese", "gbk", CHINESE, {"2024-01-15T09:00": {"permeate_flow_m3h": 46.1}}, "Asia/Shanghai"),
            ("Greek", "cp1253", GREEK, {"2024-01-16T08:00": {"feed_pressure_bar": 12.8}}, "Europe/Athens"),
        )
    ),
)
