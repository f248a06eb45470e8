"""What the headings of weather files call a date, a low, a high and a temperature, in several languages.

The words are common in files of weather services and stations; there is no standard.
"""

from __future__ import annotations

import html
import re
import unicodedata

_PARTS = re.compile(r"[^\W\d_]+|\d+")
_CAMEL = re.compile(r"(?<=[a-z])(?=[A-Z])")


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


DATE = _words(
    "date datetime datum fecha data day timestamp zeitstempel zeitpunkt horodatage mess_datum messdatum dato "
    "tarih yyyymmdd aaaammjj aaaammdd tt.mm.jjjj dia jour tag giorno dag gun ημερομηνια дата 日付 年月日 日期 일자 날짜"
)
TIME = _words(
    "time zeit uhrzeit heure hora ora ore tijd godzina saat hour stunde hr hh tid ωρα время 時刻 時 时间 시간"
)
YEAR = _words("year yr jahr annee ano anno jaar rok yil έτος год 年")
MONTH = _words("month mo mon monat mois mes mese maand miesiac ay месяц 月")
DAY = _words("day dy tag jour dia giorno dag dzien gun день 日")
DAY_OF_YEAR = _words("doy yday ofyear jday yearday")
HOUR = _words("hour hr hh stunde heure hora ora uur godzina saat час 時")
LOW = _words(
    "low lo lowest min minimum minima minimo mini minimal minimale minimalna minimalni tmin tmn tn tnk lowtemp mintemp "
    "tempmin tlmin tre200dn tief tiefst tiefste tiefstwert tiefsttemperatur tagesminimum laagste baja bassa dusuk "
    "lagsta najnizsza tempmn ελαχιστη минимум мин 最低気温 最低 最低气温 최저기온 最低溫度 最低温度"
)
HIGH = _words(
    "high hi highest max maximum maxima maximo maxi maximal maximale massima massimo maksimum maksymalna maximalni "
    "tmax tmx tx txk hightemp maxtemp tempmax tlmax tre200dx hochst hochste hochstwert hochsttemperatur hoechst "
    "hoechstwert tagesmaximum hoogste alta yuksek hogsta najwyzsza tempmx μεγιστη максимум макс "
    "最高気温 最高 最高气温 최고기온 最高溫度 最高温度"
)
TEMPERATURE = _words(
    "temp temperature temperatur temperatura temperaturen temperatuur teplota sicaklik t tt tmp ta tair airtemp "
    "lufttemperatur tempc tempf tmpc tmpf celsius fahrenheit θερμοκρασια температура 気温 气温 溫度 温度 기온"
)
STATION = _words(
    "station stations stationid stn staid site stationsname id stationsid estacion stazione poste 観測所 站"
)
#: A column whose heading has one of these is none of the above.
_OTHER = _words(
    "dew dewpoint dewp td taupunkt rosee rocio rugiada humidity humid hum rh feuchte luftfeuchte humidite humedad "
    "umidita soil boden suelo sol terreno grass indoor inside innen interior interieur feels apparent chill heat index "
    "wind windchill wet bulb wetbulb water sea flag flags qual quality attributes attribute source qc qn code count "
    "precip precipitation rain prcp pressure press mean avg average mittel mittelwert moyenne moy media durchschnitt "
    "normal record departure battery battvolt obs fm qf q accumulation 品質情報 均質番号"
)
_ROLES = {
    "date": DATE, "time": TIME, "year": YEAR, "month": MONTH, "day": DAY, "hour": HOUR, "station": STATION,
}  # fmt: skip
_NOT_A_TEMPERATURE_TIME = _words("time hour zeit heure hora")
_UNIT = re.compile(
    r"[°º]\s*([CF])\b|[(\[{/,]\s*(?:deg(?:rees?)?\.?\s*)?([CF])\s*[)\]}]?$"
    r"|\b(?:temp|tmp|tmin|tmax|deg|min|max)[ _]?([CF])$|[ _]([CF])$|\b(celsius|fahrenheit)\b",
    re.IGNORECASE,
)
_TENTHS = re.compile(r"\b0[.,]1\s*(?:°|deg|graden)|tenths?\b|zehntel", re.IGNORECASE)
_UTC = re.compile(r"\b(?:utc|gmt|zulu)\b", re.IGNORECASE)


def words_of(heading: str) -> frozenset[str]:
    """Return the words of a heading in small letters, without accents; also what its parts make together."""
    plain = unicodedata.normalize("NFKC", heading).strip()
    parts = [_plain(part) for part in _PARTS.findall(_CAMEL.sub(" ", plain.replace("_", " ")))]
    whole = _plain(plain)
    return frozenset([*parts, whole, *(left + right for left, right in zip(parts, parts[1:]))])


def _plain(word: str) -> str:
    decomposed = unicodedata.normalize("NFD", word.lower())
    # Only accents go; the voicing marks of Japanese letters are part of them.
    return "".join(sign for sign in decomposed if not 0x300 <= ord(sign) <= 0x36F).replace("ß", "ss")


def unit_of(heading: str) -> str:
    """Return the unit that a heading names, "C", "F", "tenths" or ""."""
    heading = unicodedata.normalize("NFKC", html.unescape(heading))  # ℃ is one letter
    if _TENTHS.search(heading):
        return "tenths"
    found = {next(group for group in match if group)[0].upper() for match in _UNIT.findall(heading)}
    return found.pop() if len(found) == 1 else ""


def names_temperature(heading: str) -> bool:
    """Return whether a heading has a word for temperature."""
    return not words_of(heading).isdisjoint(TEMPERATURE)


def names_utc(heading: str) -> bool:
    """Return whether a heading says that its times are UTC."""
    return bool(_UTC.search(heading.replace("_", " ")))


def roles_of(heading: str) -> frozenset[str]:
    """Return what a column could be by its heading: of date, time, year, month, day, hour, low, high, temperature…"""
    words = words_of(heading)
    if words & DAY_OF_YEAR:
        return frozenset(["day of year"])
    roles = {role for role, known in _ROLES.items() if words & known}
    if words & _OTHER:
        return frozenset(roles & {"station"})
    if not words & _NOT_A_TEMPERATURE_TIME:
        is_low, is_high = bool(words & LOW), bool(words & HIGH)
        if is_low and not is_high:
            roles.add("low")
        elif is_high and not is_low:
            roles.add("high")
        elif words & TEMPERATURE and not is_low:
            roles.add("temperature")
    return frozenset(roles)
