"""Awkward tables as text, made by hand. All plants and numbers are invented."""

from server.intake.understand.compile import Corrections
from server.intake.understand.understanding import Choices
from tests.server.intake.tables.awkward import GPM, PSI, Awkward

TEXTS = (
    Awkward(
        "German daily sheet",
        "Windows letters; semicolons; decimal comma; point between thousands; title rows; row of units; date "
        "given once "
        "a day; time in a column of its own; row of sums at the end; remark with a semicolon",
        "Betriebstagebuch Umkehrosmose;;;;;\n;;;;;\nDatum;Uhrzeit;Druck Zulauf;Permeat;Leitfähigkeit Permeat;"
        "Bemerkung\n"
        ";;[bar];l/min;µS/cm;\n05.01.2024;06:00;12,5;1.234,5;23,1;ok; alles gut\n;14:00;12,6;1.230,0;23,4;\n"
        "Summe;;;2.464,5;;\n".encode("cp1252"),
        rows={
            "2024-01-05T06:00": {"feed_pressure_bar": 12.5, "permeate_flow_m3h": 74.07, "remark": "ok; alles gut"},
            "2024-01-05T14:00": {"permeate_conductivity_us_cm": 23.4},
        },
        count=2,
        notes=("sums, averages or limits was left out: row 7", "put together again: row 5"),
    ),
    Awkward(
        "American shift log",
        "month first with AM and PM; units in brackets; first stage called 1st; reject; thousands comma in quotation "
        "marks; recovery, operator and pressure drop that are not needed",
        "Date/Time,Feed Press (psig),1st Stage Perm Flow (gpm),Reject Flow (gpm),Feed Cond (uS),Recovery (%),Oper.,"
        'dP 1 (psid)\n12/31/2024 2:15 PM,174,61.5,20.5,"1,842",75,JB,18\n1/1/2025 6:05 AM,175,62,20.4,"1,850",75,'
        'JB,18\n',
        rows={
            "2024-12-31T14:15": {"feed_conductivity_us_cm": 1842},
            "2025-01-01T06:05": {"feed_pressure_bar": 175 * PSI, "stage1_permeate_flow_m3h": 62 * GPM},
        },
        columns={"Recovery (%)": "", "Oper.": "", "dP 1 (psid)": "", "Reject Flow (gpm)": "concentrate_flow [gpm]"},
        zone="America/Denver",
        units="US",
    ),
    Awkward(
        "Order told by a later row",
        "day or month first is open until row 5; two-digit years; dots missing",
        "date,feed pressure (bar),permeate flow (m3/h)\n01/02/24,12.1,14\n02/02/24,12.2,14\n03/02/24,12.2,14\n"
        "14/02/24,12.4,13.9\n",
        rows={"2024-02-01T12:00": {"feed_pressure_bar": 12.1}, "2024-02-14T12:00": {"permeate_flow_m3h": 13.9}},
        count=4,
    ),
    Awkward(
        "Order that nothing tells",
        "every date can be read in two ways",
        "date,feed pressure (bar),permeate flow (m3/h)\n01/02/2024,12.1,14\n02/02/2024,12.2,14\n03/02/2024,12.2,14\n",
        asks=("In which order are dates written?",),
        says=Corrections(order="month first"),
        rows={"2024-01-02T12:00": {"feed_pressure_bar": 12.1}, "2024-03-02T12:00": {"feed_pressure_bar": 12.2}},
        count=3,
    ),
    Awkward(
        "Order that cannot be decided",
        "row 2 has the day first, row 3 the month first",
        "date,feed pressure (bar)\n13/01/2024,12.1\n01/14/2024,12.2\n15/01/2024,12.2\n",
        asks=('row 2 holds "13/01/2024", which has the day first, and row 3 "01/14/2024"',),
        says=Corrections(order="day first"),
        problems=((3, "date", '"01/14/2024" is not a time'),),
    ),
    Awkward(
        "Order told by the future",
        "read month first, the newest reading would lie after today",
        "date,feed pressure (bar),permeate flow (m3/h)\n10/01/2026,12.1,14\n11/01/2026,12.2,14\n12/01/2026,12.2,14\n",
        rows={"2026-01-12T12:00": {"feed_pressure_bar": 12.2}},
        count=3,
    ),
    Awkward(
        "Order told by the flow of shifts",
        "three readings a day; day or month first is told by their going on day by day",
        "when;feed pressure bar;permeate m3/h\n"
        + "".join(f"{day:02d}/03/2024 {hour}:00;12.{day};14.1\n" for day in range(4, 8) for hour in ("06", "14", "22")),
        rows={"2024-03-07T22:00": {"feed_pressure_bar": 12.7}},
        count=12,
    ),
    Awkward(
        "Swiss export",
        "apostrophes between thousands; tabs; year first with points; UTF-16 with its mark",
        "Zeit\tLeitfähigkeit Zulauf [µS/cm]\tPermeatdruck [bar]\n2024.01.05 06:00\t1'834.5\t0.4\n"
        "2024.01.05 14:00\t1'841\t0.4\n".encode("utf-16"),
        rows={"2024-01-05T06:00": {"feed_conductivity_us_cm": 1834.5, "permeate_pressure_bar": 0.4}},
        count=2,
    ),
    Awkward(
        "French log",
        "narrow spaces between thousands; decimal comma; month names; 6h30; accents; n.d. for no value",
        "Horodatage;Pression alimentation (bar);Débit perméat (m³/j);Conductivité perméat (µS/cm);Remarques\n"
        "5 janvier 2024 6h30;12,5;1 338,5;23;RAS\n6 janvier 2024 6h30;12,6;1\u202f338,0;n.d.;sonde en panne\n",
        rows={
            "2024-01-05T06:30": {"feed_pressure_bar": 12.5, "permeate_flow_m3h": 1338.5 / 24, "remark": "RAS"},
            "2024-01-06T06:30": {"permeate_flow_m3h": 1338 / 24},
        },
        count=2,
        zone="Europe/Paris",
    ),
    Awkward(
        "Spanish log",
        "decimal comma; rechazo; etapa; MPa; state in Spanish; comments",
        "Fecha;Hora;Presión alimentación (MPa);Presión rechazo etapa 2 (MPa);Caudal permeado etapa 1 (m3/h);Estado;"
        "Observaciones\n05/01/2024;06:00;1,25;1,05;30,5;Marcha;\n25/01/2024;06:00;1,26;1,05;30,4;Paro;sin agua\n",
        rows={
            "2024-01-05T06:00": {"feed_pressure_bar": 12.5, "stage1_permeate_flow_m3h": 30.5, "state": "running"},
            "2024-01-25T06:00": {"concentrate_pressure_bar": 10.5, "state": "stopped", "remark": "sin agua"},
        },
        count=2,
        zone="Europe/Madrid",
    ),
    Awkward(
        "Portuguese log",
        "accents; kgf/cm2; stage written estágio; data and hora apart",
        "Data,Hora,Pressão de entrada (kgf/cm²),Vazão permeado estágio 1 (m3/h),Condutividade permeado (µS/cm)\n"
        "15/01/2024,06:00,12.5,30.5,22\n16/01/2024,06:00,12.6,30.4,22\n",
        # NIST SP 811: 1 kgf/cm2 = 0.980665 bar
        rows={"2024-01-15T06:00": {"feed_pressure_bar": 12.5 * 0.980665, "stage1_permeate_flow_m3h": 30.5}},
        count=2,
    ),
    Awkward(
        "Historian, one row for each tag",
        "long table; quality column; tags as names; values of bad quality; unit in a column; seconds in the times",
        "Tag,Timestamp,Value,Units,Quality\nRO1.FEED_PRESS,2024-01-05 06:00:00,174,psi,Good\n"
        "RO1.PERM_FLOW,2024-01-05 06:00:00,62,gpm,Good\nRO1.PERM_COND,2024-01-05 06:00:00,23,uS/cm,Bad\n"
        "RO1.FEED_PRESS,2024-01-05 07:00:00,175,psi,Good\nRO1.PERM_FLOW,2024-01-05 07:00:00,62.1,gpm,Good\n"
        "RO1.PERM_COND,2024-01-05 07:00:00,24,uS/cm,Good\n",
        rows={
            "2024-01-05T06:00": {"feed_pressure_bar": 174 * PSI, "permeate_flow_m3h": 62 * GPM},
            "2024-01-05T07:00": {"permeate_conductivity_us_cm": 24},
        },
        count=2,
        notes=("quality is not good were left out: row 4",),
    ),
    Awkward(
        "Historian, tags some seconds apart",
        "long table whose tags were read one after the other; letters of instruments inside longer names",
        "timestamp,point,value\n2024-01-05 06:00:01,QUAY.RO1.Feed_PIT101.PV psi,174\n"
        "2024-01-05 06:00:02,QUAY.RO1.Perm_FIT102.PV gpm,62\n2024-01-05 07:00:01,QUAY.RO1.Feed_PIT101.PV psi,175\n"
        "2024-01-05 07:00:03,QUAY.RO1.Perm_FIT102.PV gpm,62\n",
        rows={"2024-01-05T06:00": {"feed_pressure_bar": 174 * PSI, "permeate_flow_m3h": 62 * GPM}},
        count=2,
        notes=("within one minute were taken together",),
    ),
    Awkward(
        "Decimal comma in quotation marks",
        "the sign between columns is the decimal mark as well; German compounds; no units for some",
        'Datum,"Zulaufdruck, bar","Permeatmenge, m3/h",LF Permeat\n05.01.2024,"12,5","14,1",23\n'
        '06.01.2024,"12,6","14,1",23\n',
        rows={
            "2024-01-05T12:00": {
                "feed_pressure_bar": 12.5, "permeate_flow_m3h": 14.1, "permeate_conductivity_us_cm": 23,
            }
        },
    ),
    Awkward(
        "No header",
        "readings from the first row on; a person says what the columns are",
        "2024-01-05 06:00,174,62\n2024-01-05 07:00,175,62\n",
        asks=("Which columns hold readings?",),
        says=Corrections(columns={"column B": "feed_pressure [psi]", "column C": "permeate_flow [gpm]"}),
        rows={"2024-01-05T07:00": {"feed_pressure_bar": 175 * PSI, "permeate_flow_m3h": 62 * GPM}},
        count=2,
    ),
    Awkward(
        "Numbers with their units",
        "units behind the numbers; one value in another unit; < and > before numbers; --- and n/a for no value",
        "time,Feed pressure,Permeate flow,Feed chlorine mg/L,Turbidity NTU\n2024-01-05 06:00,12.3 bar,14.1 m3/h,"
        "<0.05,0.2\n"
        "2024-01-05 14:00,174 psi,14.0 m3/h,---,>10\n2024-01-05 22:00,12.4bar,14 m3/h,n/a,0.3\n",
        rows={
            "2024-01-05T06:00": {"feed_pressure_bar": 12.3, "permeate_flow_m3h": 14.1, "feed_free_chlorine_mg_l": 0.05},
            "2024-01-05T14:00": {"feed_pressure_bar": 174 * PSI, "feed_turbidity_ntu": 10},
        },
        count=3,
        notes=("were converted to bar: row 3", "beyond what the instrument shows (<)"),
    ),
    Awkward(
        "Names with underscores",
        "units at the end of names joined by underscores; stages as s1 and s2; no spaces; epoch seconds; times in UTC",
        "timestamp_utc,feed_press_psi,s1_perm_flow_gpm,s2_perm_flow_gpm,conc_cond_us_cm,water_temp_degF\n"
        "1704434400,174,41,20,7400,64.4\n1704438000,175,41,20,7420,64.4\n",
        rows={"2024-01-05T06:00": {"stage2_permeate_flow_m3h": 20 * GPM, "feed_temperature_c": 18.0}},
        count=2,
    ),
    Awkward(
        "Camel case without units",
        "no unit anywhere: told by the numbers and by the units of the site",
        "DateTime,FeedPressure,PermFlow,FeedTemp,FeedCond,PermCond\n2024-01-05 06:00,174,62,63,1.84,23\n"
        "2024-01-05 14:00,176,62,63,1.85,23\n",
        rows={
            "2024-01-05T06:00": {
                "feed_pressure_bar": 174 * PSI, "permeate_flow_m3h": 62 * GPM, "feed_temperature_c": 17.222,
                "feed_conductivity_us_cm": 1840, "permeate_conductivity_us_cm": 23,
            }
        },
        units="US",
    ),
    Awkward(
        "Called bar, typed in psi",
        "a whole column in another unit than its name says",
        "time,Feed pressure (bar),Permeate flow (m3/h)\n2024-01-05 06:00,174,14\n2024-01-06 06:00,176,14\n",
        asks=("did you mean psi? Then it is 12.07 bar",),
        says=Corrections(columns={"Feed pressure (bar)": "feed_pressure [psi]"}),
        rows={"2024-01-05T06:00": {"feed_pressure_bar": 174 * PSI}},
        usual={"feed_pressure_bar": 12.0},
    ),
    Awkward(
        "Called uS, typed in mS",
        "conductivities a thousand times too small, told by what is usual here",
        "time,Feed conductivity (uS/cm),Permeate flow (m3/h)\n2024-01-05 06:00,1.84,14\n2024-01-06 06:00,1.85,14\n",
        asks=("did you mean mS/cm?",),
        says=Corrections(columns={"Feed conductivity (uS/cm)": "feed_conductivity [mS/cm]"}),
        rows={"2024-01-05T06:00": {"feed_conductivity_us_cm": 1840}},
        usual={"feed_conductivity_us_cm": 1840.0},
    ),
    Awkward(
        "Two rows of header",
        "groups over names; units in brackets under them; groups not repeated; commas inside quoted remarks; doubled "
        "quotation marks",
        ",Feed,,Permeate,,Remarks\nDate,Pressure [kPa],Temp [C],Flow [L/min],Cond [uS/cm],\n"
        '2024-01-05,1250,17.5,235,23,"cartridges changed, ""blue"" ones"\n2024-01-06,1260,17.4,234,23,\n',
        rows={
            "2024-01-05T12:00": {
                "feed_pressure_bar": 12.5, "feed_temperature_c": 17.5, "permeate_flow_m3h": 14.1,
                "remark": 'cartridges changed, "blue" ones',
            }
        },
        count=2,
    ),
    Awkward(
        "Header on row 7",
        "six rows of titles, two of them with two cells; a row of limits under the header; blank rows; the "
        "header comes "
        "again in the middle; averages at the end",
        "Quay Laundry,,,\nReverse osmosis log,,,\nSite:,Quay,,\nMonth:,January 2024,,\n,,,\nAll values as read,,,\n"
        "Date,Feed pressure psi,Perm flow gpm,Perm cond uS/cm\nLimits,250,80,50\n1/15/2024,174,62,23\n,,,\n"
        "1/16/2024,175,62,23\nDate,Feed pressure psi,Perm flow gpm,Perm cond uS/cm\n1/17/2024,176,61,23\n"
        "Average,175,61.7,23\n",
        rows={"2024-01-17T12:00": {"feed_pressure_bar": 176 * PSI}},
        count=3,
        notes=("header comes again and was left out: row 12", "averages or limits was left out: row 14"),
    ),
    Awkward(
        "Tags of instruments",
        "letters of instruments with numbers; some with a word, some with a unit alone",
        "TIMESTAMP,PT-101 feed (bar),PT-102 conc (bar),FT-101 (m3/h),FT-102 (m3/h),FT-103 (m3/h),AIT-101 (uS/cm),"
        "AIT-102 (uS/cm)\n2024-01-05 06:00,12.5,10.9,18.8,14.1,4.7,1840,23\n"
        "2024-01-05 07:00,12.5,10.9,18.7,14.0,4.7,1842,23\n2024-01-05 08:00,12.5,10.9,18.8,14.1,4.7,1844,23\n",
        rows={
            "2024-01-05T06:00": {
                "feed_pressure_bar": 12.5, "concentrate_pressure_bar": 10.9, "feed_flow_m3h": 18.8,
                "permeate_flow_m3h": 14.1, "concentrate_flow_m3h": 4.7, "permeate_conductivity_us_cm": 23,
            }
        },
    ),
    Awkward(
        "A tag with words",
        "numbers in the names; units at the end without brackets",
        "time,PI 02 feed psi,PI 05 brine psi,FI 03 product gpm,TI 01 feed deg F\n2024-01-05 06:00,174,158,62,63\n",
        rows={"2024-01-05T06:00": {"feed_pressure_bar": 174 * PSI, "concentrate_pressure_bar": 158 * PSI}},
        columns={"TI 01 feed deg F": "feed_temperature [degF]"},
    ),
    Awkward(
        "States in words",
        "RUN, STOP and flush; words for off in cells of numbers; 24-hour times without a colon",
        "Date,Time,Status,Feed P (psi),Perm flow (gpm)\n01/15/2024,0600,RUN,174,62\n01/15/2024,1400,Flush,100,20\n"
        "01/15/2024,2200,STOP,0,off\n",
        rows={
            "2024-01-15T06:00": {"state": "running", "feed_pressure_bar": 174 * PSI},
            "2024-01-15T14:00": {"state": "starting"},
            "2024-01-15T22:00": {"state": "stopped", "feed_pressure_bar": 0.0},
        },
        count=3,
    ),
    Awkward(
        "States as 1 and 0",
        "a column of 1 and 0 that says whether the plant runs",
        "time;RO running;feed pressure bar;permeate flow m3/h\n2024-01-05 06:00;1;12,5;14,1\n2024-01-05 07:00;0;"
        "0,5;0\n",
        rows={"2024-01-05T06:00": {"state": "running"}, "2024-01-05T07:00": {"state": "stopped"}},
        count=2,
    ),
    Awkward(
        "Newest first, with doubles",
        "descending times; the same row twice; another value for the same time",
        "time,feed pressure bar\n2024-01-07 06:00,12.7\n2024-01-06 06:00,12.6\n2024-01-06 06:00,12.6\n"
        "2024-01-05 06:00,12.5\n2024-01-05 06:00,12.9\n",
        rows={"2024-01-05T06:00": {"feed_pressure_bar": 12.5}},
        count=5,
    ),
    Awkward(
        "Several trains side by side",
        "columns of two trains; only those of this one count",
        "Date,RO-1 Feed Press (bar),RO-1 Perm Flow (m3/h),RO-2 Feed Press (bar),RO-2 Perm Flow (m3/h)\n"
        "2024-01-05,12.5,14.1,11.5,13.1\n2024-01-06,12.5,14.1,11.5,13.1\n",
        rows={"2024-01-05T12:00": {"feed_pressure_bar": 11.5, "permeate_flow_m3h": 13.1}},
        train="RO 2",
    ),
    Awkward(
        "Several trains below each other",
        "a column that names the train of each row",
        "Date,Skid,Feed Press (bar),Perm Flow (m3/h)\n2024-01-05,RO-1,12.5,14.1\n2024-01-05,RO-2,11.5,13.1\n"
        "2024-01-06,RO-1,12.6,14.1\n2024-01-06,RO-2,11.6,13.1\n",
        rows={"2024-01-05T12:00": {"feed_pressure_bar": 11.5}},
        count=2,
        train="RO 2",
        notes=('Only rows where "Skid" says "RO-2" are read',),
    ),
    Awkward(
        "Stages in many spellings",
        "Stage 1, 2nd stage, STG2, bank 1, interstage; flows in gpd and m3/d; MGD",
        "date;Stage 1 Feed Pr. (kPa);Interstage P (kPa);2nd stage feed press (kPa);STG2 Conc Press (kPa);"
        "Bank 1 Perm Flow (gpd);Stage II permeate flow (m3/d);Stage 1 dP (kPa)\n"
        "2024-01-05;1250;1120;1500;1390;90000;120;130\n2024-01-06;1250;1120;1500;1390;90000;120;130\n",
        rows={
            "2024-01-05T12:00": {
                "feed_pressure_bar": 12.5, "stage1_concentrate_pressure_bar": 11.2, "stage2_feed_pressure_bar": 15.0,
                "concentrate_pressure_bar": 13.9, "stage1_permeate_flow_m3h": 90000 / 1440 * GPM,
                "stage2_permeate_flow_m3h": 5.0,
            }
        },
    ),
    Awkward(
        "Decimal point and comma both",
        "one operator types a comma, the other a point; one number can be read in two ways",
        "time;feed pressure bar;feed cond uS/cm\n2024-01-05 06:00;12,5;1840\n2024-01-05 14:00;12.6;1842\n"
        "2024-01-05 22:00;12,5;1,843\n",
        rows={"2024-01-05T06:00": {"feed_pressure_bar": 12.5}, "2024-01-05T14:00": {"feed_pressure_bar": 12.6}},
        problems=((4, "feed cond uS/cm", "can be read as two numbers"),),
    ),
    Awkward(
        "Only numbers like 1,234",
        "nothing tells whether the comma is a decimal mark",
        "time;feed cond uS/cm\n2024-01-05 06:00;1,834\n2024-01-06 06:00;1,841\n",
        asks=('Is "1,834" more than a thousand, or a number with three decimals?',),
        layout=Choices(decimal="."),
        rows={"2024-01-05T06:00": {"feed_conductivity_us_cm": 1834}},
    ),
    Awkward(
        "Thousands told by their neighbours",
        "whole numbers below a thousand have no mark, those above a comma",
        'time,feed cond uS/cm\n2024-01-05 06:00,985\n2024-01-06 06:00,"1,012"\n2024-01-07 06:00,996\n',
        rows={"2024-01-06T06:00": {"feed_conductivity_us_cm": 1012}},
    ),
    Awkward(
        "Offsets and zones",
        "times carry an offset; one with a Z, one with minutes",
        "time,feed pressure bar\n2024-01-05T06:00:00+01:00,12.5\n2024-01-05T06:00:00Z,12.6\n",
        rows={"2024-01-05T05:00": {"feed_pressure_bar": 12.5}, "2024-01-05T06:00": {"feed_pressure_bar": 12.6}},
    ),
    Awkward(
        "The night of the clocks",
        "an hour that comes twice and one that is missing, in American dates",
        "Date Time,Feed press psi\n11/03/2024 1:30 AM,174\n11/03/2024 1:30 AM,175\n03/10/2024 2:30 AM,176\n"
        "03/25/2024 2:30 AM,176\n",
        rows={"2024-03-10T03:30": {"feed_pressure_bar": 176 * PSI}},
        count=4,
        notes=("hour that the clocks showed twice: 1 taken as the first", "hour that the clocks skipped"),
        zone="America/New_York",
    ),
    Awkward(
        "Rows without numbers",
        "rows for days to come, printed beforehand; a footnote; a row with only a remark",
        "Date,Feed pressure (bar),Remarks\n15/01/2026,12.5,\n16/01/2026,12.6,\n17/03/2026,,\n18/03/2026,,\n"
        "* gauge replaced,,\n",
        rows={"2026-01-15T12:00": {"feed_pressure_bar": 12.5}},
        count=2,
        notes=("without any value was left out: rows 4, 5", "text alone was left out: row 6"),
    ),
    Awkward(
        "Excel told the separator",
        "a first row that says sep=; and date numbers of a spreadsheet in a text file",
        "sep=;\nDate;Feed pressure (bar);Permeate flow (m3/h)\n45296.25;12,5;14,1\n45297.25;12,6;14,1\n",
        # ECMA-376 18.17.4.1: day 45296 is 5 January 2024
        rows={"2024-01-05T06:00": {"feed_pressure_bar": 12.5}},
        count=2,
    ),
    Awkward(
        "Old DOS letters",
        "code page 850: degree sign and micro are other bytes",
        "Zeit;Temp. [°C];Leitf. Permeat [µS/cm];Druck vor Membran [bar]\n05.01.2024 06:00;17,5;23;12,"
        "5\n".encode("cp850"),
        rows={"2024-01-05T06:00": {"feed_temperature_c": 17.5, "permeate_conductivity_us_cm": 23}},
    ),
    Awkward(
        "A row with too many cells",
        "a decimal comma in a file of commas moves every value behind it",
        "time,feed pressure bar,permeate flow m3/h\n2024-01-05 06:00,12.5,14.1\n2024-01-05 14:00,12,5,14.1\n",
        rows={"2024-01-05T06:00": {"feed_pressure_bar": 12.5}},
        problems=((3, "", "has 4 cells"),),
    ),
    Awkward(
        "A formula as text",
        "a formula instead of its value; text in a cell of numbers; a date in the future; one before 1970",
        "time,feed pressure bar,permeate flow m3/h\n2024-01-05 06:00,=B2*2,14.1\n2024-01-05 07:00,broken gauge,14.1\n"
        "2034-01-05 08:00,12.5,14.1\n1904-01-05 08:00,12.5,14.1\n2024-01-05 09:00,12.5,14.1\n",
        problems=(
            (2, "feed pressure bar", "is a formula"),
            (3, "feed pressure bar", '"broken gauge" is not a number; expected a number such as 174.5'),
            (4, "time", "lies in the future"),
            (5, "time", "lies before 1970"),
        ),
    ),
    Awkward(
        "Pretreatment and dosing",
        "cartridge filter in and out, suction and discharge, ORP, SDI, free chlorine, doses, tanks, counters",
        "date,CF in psi,CF out psi,HP pump suction (psi),HP pump discharge (psi),Feed ORP mV,SDI,Raw free Cl2 (ppm),"
        "Antiscalant dose (ppm),SBS tank level (gal),Hour meter,Permeate totalizer (kgal),Pump Hz,kWh\n"
        "2024-01-15,45,42,40,190,180,2.1,0.6,3,55,12345,9876,48,123456\n",
        rows={
            "2024-01-15T12:00": {
                "cartridge_inlet_pressure_bar": 45 * PSI, "pump_discharge_pressure_bar": 190 * PSI, "feed_orp_mv": 180,
                "feed_sdi": 2.1, "raw_free_chlorine_mg_l": 0.6, "antiscalant_dose_mg_l": 3, "hours_counter_h": 12345,
                "pump_frequency_hz": 48, "energy_counter_kwh": 123456,
                # NIST SP 811: 1 US gallon = 3.785412 L
                "bisulfite_tank_level_l": 208.198, "permeate_counter_m3": 37384.7,
            }
        },
    ),
    Awkward("Nothing but a letter", "no table at all", "Dear colleagues,\nplease find the log attached.\n",
            refused="log.csv: holds no table of readings; expected a row of headers"),
    Awkward("No times", "numbers without any date", "feed pressure bar,permeate flow m3/h\n12.5,14.1\n12.6,14.0\n",
            refused='log.csv, row 2: has no column of dates or times among "feed pressure bar"'),
    Awkward("A PDF", "another kind of file", b"%PDF-1.7 ...", refused="log.csv: is a PDF document; expected a table"),
    Awkward("A picture", "another kind of file", b"\x89PNG\r\n\x1a\n",
            refused="log.csv: is a picture; expected a table"),
    Awkward("A web page", "called XLS, and HTML inside", b"<html><table><tr><td>1</td></tr></table></html>",
            refused="is a web page or XML, whatever its name says", file="log.xls"),
    Awkward("5,000 columns", "far too wide", "time," + ",".join(f"tag{n}" for n in range(5000)) + "\n2024-01-05,1,2\n",
            refused="log.csv, row 1: has 5001 columns; expected at most 1000"),
    Awkward("An open quotation mark", "swallows the rest of the file",
            'time,feed pressure bar\n2024-01-05 06:00,"12.5\n' + "2024-01-05 07:00,12.5\n" * 9_000,
            refused="log.csv, row 2: opens a quotation mark that is never closed"),
)  # fmt: skip
