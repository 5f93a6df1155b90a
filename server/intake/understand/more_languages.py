"""Words with which columns are named in further languages: Polish, Czech, Hungarian, Romanian, Russian, Greek, Turkish,
Swedish, Danish and Norwegian, Finnish, Indonesian, Chinese, Japanese, Korean, Arabic.

From memory, no source. Accents are taken off before words are compared, so they may stand here or not.
"""

MEASURES = {
    "pressure": "ciśnienie ciśnienia cisn tlak tlaku nyomás presiune presiunea давление давл πίεση basınç basıncı "
                "basinci tryck tryk trykk paine tekanan 压力 圧力 압력 ضغط الضغط",
    "flow": "przepływ przeplywu průtok prutoku áramlás térfogatáram hozam расход поток παροχή debisi flöde "
            "strømning virtaus virtaama aliran 流量 유량 تدفق التدفق",
    "conductivity": "przewodność przewodnosci vodivost vodivosti vezetőképesség conductivitate conductivitatea "
                    "электропроводность электропроводимость проводимость уэп αγωγιμότητα iletkenlik iletkenliği "
                    "konduktivitet ledningsevne ledningsförmåga johtokyky konduktivitas "
                    "电导率 电导 電導率 導電率 電気伝導率 전도도 전기전도도 موصلية "
                    "الموصلية",
    "temperature": "temperaturą temperatury teplota teploty hőmérséklet температура темп θερμοκρασία sıcaklık "
                   "sıcaklığı lämpötila suhu 温度 水温 온도 수온 حرارة الحرارة",
    "tds": "солесодержание минерализация zasolenie",
    "chlorine": "хлор χλώριο klor klór kloor clor 余氯 残留塩素",
    "turbidity": "mętność zákal turbiditate мутность θολότητα bulanıklık turbiditet sameus kekeruhan 浊度 濁度 عكارة",
    "power": "moc výkon мощность ισχύς güç effekt teho 功率",
    "energy": "энергия ενέργεια enerji energi energia",
    "hours": "godziny hodiny наработка моточасы ώρες timer drifttimer driftstimmar käyttötunnit",
    "volume": "licznik počítadlo счетчик μετρητής sayaç räknare måler mittari",
    "frequency": "częstotliwość частота συχνότητα frekans frekvens taajuus 频率",
    "current": "natężenie proud ток ρεύμα akım ström strøm virta 电流",
    "drop": "spadek spád перепад διαφορική fark tryckfall trykfald 压差 差圧",
    "recovery": "odzysk 回收率",
    "state": "stan stav статус состояние режим κατάσταση durum durumu tillstånd tilstand tila 状态 حالة",
    "remark": "uwagi uwaga poznámka poznámky megjegyzés observații observatie примечание примечания замечания "
              "комментарий παρατηρήσεις açıklama notlar anmärkning anmärkningar bemærkning bemærkninger merknad "
              "merknader huomautus huomautuksia catatan 备注 备考 備考 비고 ملاحظات",
    "person": "obsługa obsluha оператор χειριστής operatör operatør kezelő",
    "shift": "zmiana smena směna műszak schimb смена βάρδια vardiya skift vuoro 班次 班",
    "index": "lp",
    "year": "rok год år vuosi yıl έτος 年",
    "month": "miesiąc měsíc luna месяц måned månad kuukausi ay μήνας 月",
    "time": "czas godzina čas idő ora время ώρα saat zaman tid klockslag klokkeslæt kellonaika aika klo jam 时间 時刻 "
            "시간 시각 "
            "時間 الوقت وقت",
    "date": "dátum dato дата ημερομηνία tarih päivämäärä pvm tanggal 日期 日付 일시 날짜 일자 التاريخ تاريخ",
}  # fmt: skip
PLACES = {
    "raw": "surowa surowej surová surove nyersvíz исходная исходной сырая ham råvatten råvand råvann raakavesi 原水 "
           "원수 "
           "خام",
    "feed": "zasilanie zasilania zasilająca zasilajacej nadawa napájecí nastřik betáp tápvíz alimentare питание "
            "питания питательная питательной τροφοδοσία τροφοδοσίας besleme matar matning matarvatten inkommande "
            "fødevand føde syöttö syötön umpan 进水 给水 供給水 原液 공급수 급수 تغذية التغذية",
    "permeate": "permeatu permeát permeátu permeátum пермеат пермеата фильтрат фильтрата διήθημα διηθήματος süzüntü "
                "ürün permeaatti permeaatin 产水 淡水 透過水 生産水 생산수 투과수 처리수",
    "concentrate": "koncentrat koncentratu koncentrát koncentrátu koncentrátum konsentrat concentratului концентрат "
                   "концентрата συμπύκνωμα συμπυκνώματος konsantre reddi konsentraatti rejekti 浓水 濃縮水 "
                   "농축수 المركز",
    "recycle": "recyrkulacja recirkulace рециркуляция рециркуляции sirkülasyon 回流 循环",
    "cartridge": "保安过滤器 精密过滤器",
    "filter": "filtr filtru фильтр фильтра φίλτρο filtre filter suodatin 过滤器",
    "pump": "čerpadlo čerpadla pompy насос насоса αντλία pompa pompası pumpe pumppu 高压泵 泵",
    "tank": "zbiornik nádrž бак резервуар δεξαμενή tankı säiliö 水箱",
}  # fmt: skip
SIDES = {
    "in": "wlot wlotu wlotowe przed vstup vstupní bemenet intrare вход входе входа до перед είσοδος giriş girişi "
          "inlopp indløb innløp före før ennen 入口 进口 前",
    "out": "wylot wylotu wylotowe výstup výstupní kimenet ieșire выход выходе выхода после έξοδος çıkış çıkışı "
           "utlopp utløb utløp efter etter jälkeen 出口 后",
}  # fmt: skip
KINDS = {
    "stage_word": "stopień stupeň treapta ступень ступени κλίμακα kademe steg trin trinn 段",
    "free": "wolny volný свободный",
    "setpoint": "zadana zadane žádaná уставка задание ayar börvärde 设定",
    "mean": "średnia średni průměr среднее ortalama medel gennemsnit 平均",
    "train_word": "linia linka линия установка hat",
}  # fmt: skip
