"""Awkward tables in further languages and scripts, each with another quirk beside. All invented."""

from tests.server.intake.tables.awkward import Awkward

SHIFT = {"feed_pressure_bar": 12.5, "permeate_flow_m3h": 14.1, "permeate_conductivity_us_cm": 23.0}

LANGUAGES = (
    Awkward(
        "Polish log",
        "letters with strokes and tails; a name of a month in the genitive; decimal comma",
        "Data;Godzina;Ciśnienie zasilania [bar];Przepływ permeatu [m3/h];Temperatura [°C];"
        "Przewodność permeatu [µS/cm];Uwagi\n"
        "15 stycznia 2024;06:00;12,5;14,1;17,5;23;brak\n16 stycznia 2024;06:00;12,6;14,0;17,4;23;\n",
        rows={"2024-01-15T06:00": {**SHIFT, "feed_temperature_c": 17.5, "remark": "brak"}},
        count=2,
    ),
    Awkward(
        "Czech log",
        "a month in the genitive with a point behind the day; a remark that says ok and is no state",
        "Datum;Čas;Tlak napájecí vody (bar);Průtok permeátu (m3/h);Vodivost permeátu (µS/cm);Poznámka\n"
        "15. ledna 2024;6:00;12,5;14,1;23;ok\n16. ledna 2024;6:00;12,5;14,1;23;\n",
        rows={"2024-01-15T06:00": {**SHIFT, "remark": "ok"}},
    ),
    Awkward(
        "Russian log",
        "another alphabet, in the units as well",
        "Дата;Время;Давление питания, бар;Расход пермеата, м3/ч;Температура, °С;"
        "Электропроводность пермеата, мкСм/см\n"
        "15.01.2024;06:00;12,5;14,1;17,5;23\n16.01.2024;06:00;12,6;14,0;17,4;23\n",
        rows={"2024-01-15T06:00": {**SHIFT, "feed_temperature_c": 17.5}},
    ),
    Awkward(
        "Russian historian",
        "one row for each tag, named in another alphabet; Cyrillic megapascals and litres a minute",
        "Время;Точка;Значение\n"
        "15.01.2024 06:00;Давление питания, МПа;1,25\n15.01.2024 06:00;Расход пермеата, л/мин;235\n"
        "15.01.2024 07:00;Давление питания, МПа;1,26\n15.01.2024 07:00;Расход пермеата, л/мин;235\n",
        rows={"2024-01-15T06:00": {"feed_pressure_bar": 12.5, "permeate_flow_m3h": 14.1}},
        count=2,
    ),
    Awkward(
        "Greek log",
        "another alphabet with accents",
        "Ημερομηνία;Ώρα;Πίεση τροφοδοσίας (bar);Παροχή διηθήματος (m3/h);Αγωγιμότητα διηθήματος (µS/cm)\n"
        "15/01/2024;06:00;12,5;14,1;23\n",
        rows={"2024-01-15T06:00": SHIFT},
    ),
    Awkward(
        "Turkish log",
        "an i without a dot; capital I with one; a conductivity that names no water is left out",
        "Tarih;Saat;Besleme basıncı (bar);Süzüntü debisi (m3/h);Süzüntü iletkenliği (µS/cm);İletkenlik (µS/cm)\n"
        "15.01.2024;06:00;12,5;14,1;23;1840\n",
        rows={"2024-01-15T06:00": SHIFT},
        columns={"İletkenlik (µS/cm)": ""},
    ),
    Awkward(
        "Swedish log",
        "compounds; a remark that says ok and is no state",
        "Datum;Tid;Matartryck (bar);Permeatflöde (m3/h);Konduktivitet permeat (µS/cm);Anmärkning\n"
        "2024-01-15;06:00;12,5;14,1;23;ok\n2024-01-16;06:00;12,6;14,0;23;\n",
        rows={"2024-01-15T06:00": {**SHIFT, "remark": "ok"}},
    ),
    Awkward(
        "Danish log",
        "a letter that has no plain one; the clock as kl.",
        "Dato;Kl.;Fødetryk (bar);Permeatflow (m3/h);Ledningsevne permeat (µS/cm);Bemærkninger\n"
        "15-01-2024;06:00;12,5;14,1;23;ok\n",
        rows={"2024-01-15T06:00": {**SHIFT, "remark": "ok"}},
    ),
    Awkward(
        "Chinese log",
        "no spaces between words; a date in characters below one in figures; one sign for degrees",
        "日期,时间,进水压力(MPa),产水流量(m3/h),进水温度(℃),产水电导率(µS/cm)\n2024-01-15,06:00,1.25,14.1,17.5,23\n"
        "2024年1月16日,06:00,1.26,14.0,17.4,23\n",
        rows={"2024-01-15T06:00": SHIFT, "2024-01-16T06:00": {"feed_temperature_c": 17.4}},
    ),
    Awkward(
        "Japanese log",
        "no spaces between words; the temperature of the water",
        "日付,時刻,供給水圧力(MPa),透過水流量(m3/h),水温(℃),透過水電気伝導率(µS/cm)\n2024/01/15,6:00,1.25,14.1,17.5,23\n",
        rows={"2024-01-15T06:00": {**SHIFT, "feed_temperature_c": 17.5}},
    ),
    Awkward(
        "Dutch months",
        "names of months that are not those of the neighbours",
        "Datum;Voedingsdruk (bar);Permeaatdebiet (m3/h)\n15 maart 2024;12,5;14,1\n3 mei 2024;12,6;14,1\n",
        rows={"2024-03-15T12:00": {"feed_pressure_bar": 12.5}, "2024-05-03T12:00": {"feed_pressure_bar": 12.6}},
    ),
)  # fmt: skip
