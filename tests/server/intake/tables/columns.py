"""Awkward tables by what their columns are: set-points, absolute pressures, doubles. All invented."""

from server.intake.understand.compile import Corrections
from tests.server.intake.tables.awkward import GPM, PSI, Awkward

COLUMNS = (
    Awkward(
        "Set-points beside readings",
        "SP and PV; set-points before the readings, after them and without any",
        "Date,Feed pressure SP (bar),Feed pressure PV (bar),Permeate flow (m3/h),Permeate flow setpoint (m3/h),"
        "Conc flow SP (m3/h),Target feed pH,Perm cond Hi alarm (uS/cm)\n15/01/2024,12,12.5,14.1,14,4.7,7,50\n",
        rows={"2024-01-15T12:00": {"feed_pressure_bar": 12.5, "permeate_flow_m3h": 14.1}},
        columns={"Feed pressure SP (bar)": "", "Conc flow SP (m3/h)": "", "Target feed pH": "",
                 "Perm cond Hi alarm (uS/cm)": ""},
    ),
    Awkward(
        "Set-points in German",
        "Soll and Ist; a limit",
        "Datum;Druck Zulauf Soll (bar);Druck Zulauf Ist (bar);Permeat Soll m3/h;Permeat Ist m3/h;Grenzwert LF Permeat\n"
        "15.01.2024;12;12,5;14;14,1;50\n",
        rows={"2024-01-15T12:00": {"feed_pressure_bar": 12.5, "permeate_flow_m3h": 14.1}},
        columns={"Grenzwert LF Permeat": ""},
    ),
    Awkward(
        "Aims in Spanish and French",
        "consigna, objetivo and visé",
        "Fecha;Presión alimentación consigna (bar);Presión alimentación (bar);Caudal permeado objetivo (m3/h);"
        "Caudal permeado (m3/h);Débit concentrat visé (m3/h)\n15/01/2024;12;12,5;14;14,1;4\n",
        rows={"2024-01-15T12:00": {"feed_pressure_bar": 12.5, "permeate_flow_m3h": 14.1}},
        columns={"Débit concentrat visé (m3/h)": ""},
    ),
    Awkward(
        "What was designed, expected, worked out",
        "baseline, expected, projected, previous, nominal, rated, calculated; lowest and highest of the day",
        "Date,Design feed pressure (bar),Feed pressure (bar),Baseline perm flow (m3/h),Perm flow (m3/h),"
        "Expected perm cond (uS/cm),Perm cond (uS/cm),Projected conc pressure bar,Previous conc flow m3/h,"
        "Calculated feed flow m3/h,Rated feed temp C,Feed cond max (uS/cm)\n"
        "15/01/2024,12,12.5,13,14,20,23,10,5,19,25,1900\n",
        rows={
            "2024-01-15T12:00": {"feed_pressure_bar": 12.5, "permeate_flow_m3h": 14, "permeate_conductivity_us_cm": 23}
        },
        columns={"Projected conc pressure bar": "", "Previous conc flow m3/h": "", "Calculated feed flow m3/h": "",
                 "Rated feed temp C": "", "Feed cond max (uS/cm)": ""},
    ),
    Awkward(
        "Controllers",
        "tags with SP, PV and OP",
        "Time,PIC101 feed.SP bar,PIC101 feed.PV bar,FIC102 perm.SP m3/h,FIC102 perm.PV m3/h,FIC102 perm.OP\n"
        "2024-01-15 06:00,12,12.5,14,14.1,50\n2024-01-15 07:00,12,12.6,14,14.1,50\n",
        rows={"2024-01-15T06:00": {"feed_pressure_bar": 12.5, "permeate_flow_m3h": 14.1}},
        columns={"FIC102 perm.OP": "", "PIC101 feed.SP bar": ""},
    ),
    Awkward(
        "Means of an hour",
        "every column says avg: there is nothing else, so it is taken",
        "Date,Feed pressure min (bar),Feed pressure max (bar),Feed pressure avg (bar),Permeate flow avg (m3/h)\n"
        "15/01/2024,12.1,12.9,12.5,14\n",
        rows={"2024-01-15T12:00": {"feed_pressure_bar": 12.5, "permeate_flow_m3h": 14}},
        columns={"Feed pressure min (bar)": "", "Feed pressure max (bar)": ""},
    ),
    Awkward(
        "Absolute pressures",
        "psia, kPa abs and bar(a): a bar too much",
        "Date,Feed Pressure (psia),Conc Pressure (kPa abs),Permeate pressure bar(a),Perm Flow (m3/d)\n"
        "15/01/2024,189,1100,1.5,338\n",
        asks=(
            '"Feed Pressure (psia)" is given in "psia", an absolute pressure',
            '"Conc Pressure (kPa abs)" is given in "kPa abs", an absolute pressure',
            '"Permeate pressure bar(a)" is given in "bar(a)", an absolute pressure',
        ),
        says=Corrections(columns={"Feed Pressure (psia)": "", "Conc Pressure (kPa abs)": "",
                                  "Permeate pressure bar(a)": "permeate_pressure [bar]"}),
        rows={"2024-01-15T12:00": {"permeate_flow_m3h": 338 / 24}},
    ),
    Awkward(
        "Imperial gallons",
        "igpm",
        "Date,Feed psi,Perm flow (igpm),Feed flow (GPM)\n1/15/2024,174,52,82\n",
        asks=('"Perm flow (igpm)" is given in "igpm", a flow in imperial gallons',),
        rows={"2024-01-15T12:00": {"feed_flow_m3h": 82 * GPM}},
    ),
    Awkward(
        "Stages by numbers behind the name",
        "Perm Cond 1 and 2 beside the total, which stands last",
        "Date,Feed (psi),Perm Cond 1 (uS/cm),Perm cond 2 (uS/cm),Total perm cond (uS/cm)\n1/15/2024,174,20,40,25\n",
        rows={"2024-01-15T12:00": {"permeate_conductivity_us_cm": 25}},
    ),
    Awkward(
        "First pass",
        "1st pass is no stage: its product is the permeate of the train",
        "Date,1st pass feed psi,1st pass product gpm,2nd pass product gpm\n1/15/2024,174,61,50\n",
        rows={"2024-01-15T12:00": {"feed_pressure_bar": 174 * PSI, "permeate_flow_m3h": 61 * GPM}},
    ),
    Awkward(
        "Meters beyond their range",
        "OL, OFL and OVERRANGE; footers Min, Max, Avg, Std dev and TOTAL",
        "Date,Time,Feed psig,Perm gpm,Conc gpm,Perm uS/cm\n1/15/2024,0600,174,62,20,23\n1/15/2024,1400,OL,62,off,<0.1\n"
        "1/15/2024,2200,-,>100,n/a,OFL\nMin,,174,62,20,23\nMax,,174,62,20,23\nAvg,,174,62,20,23\nStd dev,,0,0,0,0\n"
        "TOTAL,,,186,,\n",
        rows={"2024-01-15T22:00": {"permeate_flow_m3h": 100 * GPM}},
        count=3,
        notes=('Cells that say "OL" have no value: row 3', "left out: rows 5, 6, 7, 8, 9"),
    ),
    Awkward(
        "A second table below",
        "the header comes again with other units: what stands below cannot be read by the first",
        "Date,Feed pressure (bar),Permeate flow (m3/h)\n30/01/2024,12.5,14\n31/01/2024,12.6,14\n"
        "Date,Feed pressure (psi),Permeate flow (gpm)\n13/02/2024,13.1,14\n",
        unreadable='log.csv, row 4: begins a table with other columns; expected the same columns as in row 1, or each '
        "table in a file of its own",
    ),
    Awkward(
        "A second table below, columns exchanged",
        "the same names in another order",
        "Date,Feed pressure (bar),Conc pressure (bar)\n30/01/2024,12.5,10\n31/01/2024,12.6,10\n"
        "Date,Conc pressure (bar),Feed pressure (bar)\n13/02/2024,10.1,12.7\n",
        unreadable="log.csv, row 4: begins a table with other columns",
    ),
    Awkward(
        "One row for each tag, with descriptions",
        "the tag is a number of an instrument, what it measures stands beside; a set-point among them",
        "Timestamp;Tag;Description;Value\n2024-01-15 06:00;PT101;Feed pressure bar;12,5\n"
        "2024-01-15 06:00;PT102;Feed pressure SP bar;12\n2024-01-15 06:00;FT101;Permeate flow m3/h;14,1\n"
        "2024-01-15 07:00;PT101;Feed pressure bar;12,6\n2024-01-15 07:00;PT102;Feed pressure SP bar;12\n"
        "2024-01-15 07:00;FT101;Permeate flow m3/h;14,2\n",
        rows={"2024-01-15T07:00": {"feed_pressure_bar": 12.6, "permeate_flow_m3h": 14.2}},
        count=2,
    ),
    Awkward(
        "One row for each tag, in two units",
        "the unit of a tag changes on the way; one row is absolute",
        "Timestamp,Parameter,Unit,Result\n2024-01-15 06:00,Feed pressure,psi,174\n"
        "2024-01-15 06:00,Permeate flow,gpm,62\n2024-01-15 07:00,Feed pressure,bar,12.5\n"
        "2024-01-15 07:00,Permeate flow,L/min,235\n"
        "2024-01-15 08:00,Feed pressure,psi,175\n2024-01-15 08:00,Permeate flow,gpm,62\n"
        "2024-01-15 09:00,Feed pressure,psia,190\n2024-01-15 09:00,Permeate flow,gpm,62\n",
        rows={
            "2024-01-15T07:00": {"feed_pressure_bar": 12.5, "permeate_flow_m3h": 14.1},
            "2024-01-15T08:00": {"feed_pressure_bar": 175 * PSI},
        },
        count=4,
        problems=((8, "Feed pressure", '"190 psia" is an absolute pressure'),),
        notes=("values in bar were converted to psi: row 4", "values in L/min were converted to gpm: row 5"),
    ),
    Awkward(
        "One row for each tag of two trains",
        "the train in a column of its own",
        "Timestamp,Skid,Parameter,Value\n2024-01-15 06:00,RO-1,Feed pressure psi,174\n"
        "2024-01-15 06:00,RO-2,Feed pressure psi,180\n2024-01-15 06:00,RO-1,Perm flow gpm,62\n"
        "2024-01-15 06:00,RO-2,Perm flow gpm,60\n2024-01-15 07:00,RO-1,Feed pressure psi,174\n"
        "2024-01-15 07:00,RO-2,Feed pressure psi,180\n",
        rows={"2024-01-15T06:00": {"feed_pressure_bar": 180 * PSI, "permeate_flow_m3h": 60 * GPM}},
        count=2,
        train="RO 2",
        notes=('Only rows where "Skid" says "RO-2" are read',),
    ),
    Awkward(
        "A table of a text with strokes",
        "upright strokes at both ends; a rule of dashes below the header",
        "| Date | Feed pressure (bar) | Permeate flow (m3/h) |\n|------|:------|------:|\n| 15/01/2024 | 12.5 | 14 |\n",
        rows={"2024-01-15T12:00": {"feed_pressure_bar": 12.5, "permeate_flow_m3h": 14}},
        columns={"Feed pressure (bar)": "feed_pressure [bar]"},
    ),
    Awkward(
        "What comes in, in Spanish",
        "entrada and horómetro; shifts by name",
        "Fecha,Turno,Presión de alimentación (psi),Flujo de producto (GPM),Conductividad de entrada (µS),pH entrada,"
        "Horómetro\n15/01/2024,Mañana,174,62,1840,7.1,8000\n15/01/2024,Noche,174,62,1841,7.2,8016\n",
        asks=("At what time of day is each shift read?",),
        rows={"2024-01-15T06:00": {"feed_conductivity_us_cm": 1840, "feed_ph": 7.1, "hours_counter_h": 8000}},
        count=2,
    ),
    Awkward(
        "An OpenDocument table",
        "another kind of workbook",
        b"PK\x03\x04" + b"mimetypeapplication/vnd.oasis.opendocument.spreadsheet" + b" content.xml",
        refused="log.ods: is an OpenDocument file; expected it saved as XLSX or CSV",
        file="log.ods",
    ),
)  # fmt: skip
