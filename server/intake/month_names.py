"""Names of months in the languages in which logs are kept, in small letters without accents."""

_NAMES = {
    1: "jan january januar janvier janv enero ene janeiro gen gennaio januari sty styczen stycznia leden "
       "ledna ocak oca ianuarie янв январь января tammikuu",
    2: "feb february februar fevrier fevr febrero fev fevereiro febbraio februari lut luty lutego unor unora "
       "subat februarie фев февраль февраля helmikuu",
    3: "mar march marz maerz mrz mars marzo marco mrt maart marts marzec marca brezen brezna mart martie мар "
       "март марта maaliskuu",
    4: "apr april avril avr abril abr aprile kwi kwiecien kwietnia duben dubna nisan nis aprilie апр апрель "
       "апреля huhtikuu",
    5: "may mai mayo maio mag maggio mei maj maja kveten kvetna mayis маи мая toukokuu",
    6: "jun june juni juin junio junho giu giugno cze czerwiec czerwca cerven cervna haziran iunie iun "
       "июн июнь июня kesakuu",
    7: "jul july juli juillet juil julio julho lug luglio lip lipiec lipca cervenec cervence temmuz "
       "iulie iul июл июль июля heinakuu",
    8: "aug august aout agosto ago augustus augusti sierpien sierpnia srpen srpna agustos agu авг август "
       "августа elokuu",
    9: "sep sept september septembre septiembre set setembro settembre wrz wrzesien wrzesnia zari eylul eyl "
       "septembrie сен сентябрь сентября syyskuu",
    10: "oct october okt oktober octobre octubre out outubro ott ottobre paz pazdziernik pazdziernika rijen "
       "rijna ekim eki octombrie окт октябрь октября lokakuu",
    11: "nov november novembre noviembre novembro lis listopad listopada kasim kas noiembrie ноя ноябрь "
       "ноября marraskuu",
    12: "dec december dez dezember decembre dic diciembre dezembro dicembre gru grudzien grudnia prosinec "
       "prosince aralik ara desember decembrie дек декабрь декабря joulukuu",
}  # fmt: skip
MONTHS = {name: month for month, names in _NAMES.items() for name in names.split()}
LETTERS = r"[^\W\d_]"
"""One letter of any script, in a pattern."""
