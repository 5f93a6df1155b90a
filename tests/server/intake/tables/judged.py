"""Awkward tables by what somebody wrote into cells beside numbers: dittos, brackets, doubts, words. All invented."""

from server.intake.understand.compile import Corrections
from tests.server.intake.tables.awkward import GPM, PSI, Awkward

# NIST SP 811 (2008), appendix B.8: bar of a conventional inch of water
INCH_OF_WATER = 0.002490889

JUDGED = (
    Awkward(
        "Ditto marks",
        "marks for the same as above, under dates and under numbers",
        'Date,Time,Feed pressure (bar),Permeate flow (m3/h)\n15/01/2024,06:00,12.5,14.1\n"""",14:00,12.6,14.2\n'
        "'',22:00,12.7,ditto\n16/01/2024,06:00,12.5,14.1\n",
        rows={"2024-01-15T14:00": {"feed_pressure_bar": 12.6}, "2024-01-15T22:00": {"permeate_flow_m3h": 14.2}},
        count=4,
        notes=('"Permeate flow (m3/h)": ditto marks stand for the value above: row 4.',),
    ),
    Awkward(
        "Estimated values",
        "est in brackets, e, ?, ca. and a wave",
        "Date,Feed pressure (bar),Permeate flow (m3/h),Feed cond (uS/cm)\n15/01/2024,12.5 (est),14.1*,1840 est.\n"
        "16/01/2024,12.6,14.1 e,~1850\n17/01/2024,ca. 12.6,14.1,1850?\n",
        rows={"2024-01-15T12:00": {"feed_pressure_bar": 12.5, "feed_conductivity_us_cm": 1840},
              "2024-01-17T12:00": {"feed_pressure_bar": 12.6, "feed_conductivity_us_cm": 1850}},
        notes=('"Feed cond (uS/cm)": values marked as estimated are taken as they stand: rows 2, 4.',),
    ),
    Awkward(
        "Round brackets",
        "a minus as accounts write it where a value can be below nothing; a doubt where it cannot",
        "Date,Feed pressure (bar),ORP (mV)\n15/01/2024,(12.5),(120)\n16/01/2024,12.6,(115)\n17/01/2024,12.6,130\n",
        rows={"2024-01-15T12:00": {"feed_orp_mv": -120}, "2024-01-17T12:00": {"feed_orp_mv": 130}},
        problems=((2, "Feed pressure (bar)", "stands in round brackets"),),
        notes=('"ORP (mV)": numbers in round brackets are taken as less than nothing: rows 2, 3.',),
    ),
    Awkward(
        "Words in most cells",
        "cleaning, no power and dashes outnumber the numbers",
        "Date,Feed pressure (bar),Permeate flow (m3/h),Status\n15/01/2024,12.5,14.1,Running\n16/01/2024,CIP,CIP,CIP\n"
        "17/01/2024,---,n/a,Standby\n18/01/2024,no power,,Tripped\n",
        rows={"2024-01-15T12:00": {"feed_pressure_bar": 12.5, "state": "running"}},
        count=1,
    ),
    Awkward(
        "Thin spaces before a decimal comma",
        "1 250,0 with a narrow space; a typographic minus",
        "Datum\tEingangsdruck [kPa]\tORP [mV]\tPermeat [l/h]\n15.01.24\t1\u2009250,0\t\u2212120\t14\u2009100\n",
        rows={"2024-01-15T12:00": {"feed_pressure_bar": 12.5, "feed_orp_mv": -120, "permeate_flow_m3h": 14.1}},
    ),
    Awkward(
        "Units inside the values of tags",
        "one row for each tag; the unit behind each value, and it changes",
        "Time;Tag;Value\n15.01.2024 06:00;Feed pressure;12,5 bar\n15.01.2024 06:00;Permeate flow;14,1 m³/h\n"
        "15.01.2024 07:00;Feed pressure;181 psi\n15.01.2024 07:00;Permeate flow;62 gpm\n",
        rows={"2024-01-15T06:00": {"feed_pressure_bar": 12.5},
              "2024-01-15T07:00": {"feed_pressure_bar": 181 * PSI, "permeate_flow_m3h": 62 * GPM}},
    ),
    Awkward(
        "Inches of water",
        "a unit with points, of a small pressure; a hardness in grains that has no place",
        "Date,Hardness (gpg),Permeate pressure (in. w.c.),Feed pressure (psi)\n"
        "1/15/2024,12,30,181\n1/16/2024,12,31,182\n",
        rows={"2024-01-15T12:00": {"permeate_pressure_bar": 30 * INCH_OF_WATER}},
        columns={"Hardness (gpg)": ""},
        zone="America/New_York",
    ),
    Awkward(
        "Inlet of the plant and of the membranes",
        "two inlets; kilograms on the square centimetre; product and reject",
        "Date,Inlet water pressure kg/cm2,Pump outlet pr kg/cm2,Membrane inlet pr kg/cm2,Membrane outlet pr kg/cm2,"
        "Product flow LPH,Reject flow LPH\n15-01-2024,2.5,13,12.5,11.2,14100,4700\n",
        rows={"2024-01-15T12:00": {"feed_pressure_bar": 12.5 * 0.980665, "concentrate_pressure_bar": 11.2 * 0.980665,
                                   "permeate_flow_m3h": 14.1, "concentrate_flow_m3h": 4.7}},
        columns={"Inlet water pressure kg/cm2": ""},
    ),
    Awkward(
        "A quality behind each value",
        "columns Q that come again; a value that is not good beside a good one",
        "Timestamp,Feed pressure [bar],Q,Permeate flow [m3/h],Q\n2024-01-15 06:00,12.5,Good,14.1,Good\n"
        "2024-01-15 07:00,99.5,Bad,14.1,Good\n2024-01-15 08:00,12.6,Good,0,Uncertain\n",
        rows={"2024-01-15T07:00": {"permeate_flow_m3h": 14.1}, "2024-01-15T08:00": {"feed_pressure_bar": 12.6}},
        notes=("Values whose quality is not good were left out: rows 3, 4.",),
        columns={"Q": "", "Q (2)": ""},
    ),
    Awkward(
        "Qualities by number",
        "qualities of OPC: 192 is good, 0 is bad; all of them behind the values",
        "Timestamp,Feed pressure [bar],Permeate flow [m3/h],Feed pressure Quality,Permeate flow Quality\n"
        "2024-01-15 06:00,12.5,14.1,192,192\n2024-01-15 07:00,99.5,14.1,0,192\n2024-01-15 08:00,12.6,0,192,64\n",
        rows={"2024-01-15T06:00": {"feed_pressure_bar": 12.5}, "2024-01-15T08:00": {"feed_pressure_bar": 12.6}},
        notes=("Values whose quality is not good were left out: rows 3, 4.",),
    ),
    Awkward(
        "Counters in gallons, suction in inches of mercury",
        "a total in the unit of tanks; a vacuum",
        "Date,Permeate total (gal),Run hours,Suction pressure (inHg),Permeate gpm\n1/15/2024,1234567,10234,-5,62\n"
        "1/16/2024,1323847,10258,-5,62\n",
        # NIST SP 811, appendix B.8: 1 gallon = 3.785412E-03 m3, 1 conventional inch of mercury = 3.386389 kPa
        rows={"2024-01-15T12:00": {"permeate_counter_m3": 1234567 * 3.785412e-3,
                                   "pump_suction_pressure_bar": -5 * 0.03386389}},
        zone="America/New_York",
    ),
    Awkward(
        "A unit of something else",
        "a level of a tank in bar",
        "Date,Antiscalant tank level (bar),Feed pressure (bar)\n15/01/2024,0.1,12.5\n",
        asks=("is given in bar, which does not measure antiscalant tank level",),
        says=Corrections(columns={"Antiscalant tank level (bar)": ""}),
        rows={"2024-01-15T12:00": {"feed_pressure_bar": 12.5}},
    ),
    Awkward(
        "Below what can be found",
        "n.n. and u.d.B., as German laboratories write it, outnumber the numbers",
        "Datum;Chlor Zulauf mg/l;Druck Zulauf bar\n"
        "15.01.2024;< 0,05;12,5\n16.01.2024;n.n.;12,6\n17.01.2024;u.d.B.;12,6\n",
        rows={"2024-01-15T12:00": {"feed_free_chlorine_mg_l": 0.05}},
        count=3,
    ),
    Awkward(
        "Figures of another script",
        "Arabic figures and decimal mark",
        "التاريخ,ضغط التغذية (bar)\n2024/01/15,١٢٫٥\n2024/01/16,١٢٫٦\n",
        rows={"2024-01-15T12:00": {"feed_pressure_bar": 12.5}},
    ),
    Awkward(
        "Units above the names",
        "units in the first row, beside the name of the dates; names in the second",
        "Date,bar,bar,m3/h,m3/h\n,Feed,Conc,Perm,Conc\n15/01/2024,12.5,11.2,14.1,4.7\n16/01/2024,12.5,11.2,14.1,4.7\n",
        rows={"2024-01-15T12:00": {"feed_pressure_bar": 12.5, "concentrate_pressure_bar": 11.2,
                                   "permeate_flow_m3h": 14.1, "concentrate_flow_m3h": 4.7}},
    ),
    Awkward(
        "Valid or not",
        "flags of 1 and 0 in columns called valid",
        "Time,Feed pressure (bar),Feed pressure valid,Perm flow (m3/h),Perm flow valid\n"
        "2024-01-15 06:00,12.5,1,14.1,1\n"
        "2024-01-15 07:00,9.9,0,14.1,1\n2024-01-15 08:00,12.5,1,14.1,1\n",
        rows={"2024-01-15T07:00": {"permeate_flow_m3h": 14.1}},
        notes=("Values whose quality is not good were left out: row 3.",),
    ),
)  # fmt: skip
