"""The day of finding, by schema/grammar/date.peg; the rules bear the names that they have there."""

import datetime
import re
from fractions import Fraction

from words import Refused, Words, absent, clean, cut

MONTHS = {roman: n for n, roman in enumerate("I II III IV V VI VII VIII IX X XI XII".split(), 1)}
SERIAL_ENDS = {"1900": (datetime.date(1899, 12, 31), 1), "1904": (datetime.date(1904, 1, 1), 0)}


class Day:
    """What is known of a day; first and second are the ends of one that is an interval by itself."""

    def __init__(self, year=None, month=None, day=None, season=None, until=None):
        self.year, self.month, self.day, self.season, self.until = year, month, day, season, until

    def edtf(self):
        if self.year is None:
            raise Refused("year-missing")
        if not 1 <= self.year <= 9999:
            raise Refused("date-impossible")
        if self.season:
            return f"{self.year:04}-{self.season}"
        if self.day is not None:
            if not valid(self.year, self.month, self.day):
                raise Refused("date-impossible")
            return f"{self.year:04}-{self.month:02}-{self.day:02}"
        if self.month is not None:
            if not 1 <= self.month <= 12:
                raise Refused("date-impossible")
            return f"{self.year:04}-{self.month:02}"
        return f"{self.year:04}"


def valid(year, month, day):
    try:
        datetime.date(year, month, day)
    except ValueError:
        return False
    return True


class Reader:
    def __init__(self, text, order, pivot, language):
        self.order, self.pivot = order, pivot
        self.w = Words(cut(text, decimals=False), "date", language, "date")
        self.p = self.w.pieces
        self.mark = set()
        self.marks()
        self.end = len(self.p)
        self.order = order or self.proven()

    def proven(self):
        """The order of day and month that the dates of the text prove themselves, if they prove one."""
        orders = set()
        for a, b, c in zip(self.p, self.p[2:], self.p[4:]):
            if a.kind == b.kind == c.kind == "number" and len(c.text) == 4 and len(a.text) < 3 and len(b.text) < 3:
                orders |= {"dmy"} if int(a.text) > 12 else {"mdy"} if int(b.text) > 12 else set()
        return orders.pop() if len(orders) == 1 else None

    # --- marks, wherever they stand
    def marks(self):
        w, gone, i = self.w, set(), 0
        while i < len(self.p):
            j = w.any_of(i, "about", "=~±", "around", "nearly", "just", "ish")
            weekday = w.is_a("weekday", i) and not w.is_a("about", i)
            if w.is_a("unsure", i):
                j = 0
            if j and not self.clock(j) and not weekday:
                self.mark.add("~")
            else:
                j = w.any_of(i, "unsure", "=?%") if not weekday else 0
                if j:
                    self.mark.update("~?" if self.p[i].text == "%" else "?")
            if not j and w.sign(i, "()[]"):
                j = i + 1
            if j and not self.clock(j):
                if w.is_a("about", i) or w.is_a("unsure", i):
                    j = w.sign(j, ".") or j
                gone.update(range(i, j))
            i = max(i + 1, j)
        keep = [i for i in range(len(self.p)) if i not in gone]
        self.p = w.pieces = [self.p[i] for i in keep]
        w.found = [w.forms_at(i) for i in range(len(self.p))]

    def clock(self, i):
        if i + 1 >= len(self.p) or self.number(i, 2) is None:
            return False
        return bool(self.w.is_a("oclock", i + 1)) or i + 2 < len(self.p) and self.p[i + 1].text == ":" and self.number(i + 2, 2) is not None

    # --- small parts
    def number(self, i, most, least=1):
        """The figures here, if there are so many of them."""
        if 0 <= i < len(self.p) and self.p[i].kind == "number" and least <= len(self.p[i].text) <= most:
            return int(self.p[i].text)
        return None

    def some(self, i, *names):
        while self.w.any_of(i, *names):
            i = self.w.any_of(i, *names)
        return i

    def year(self, i):
        """(year, end): four figures, or two by the pivot."""
        if self.number(i, 4, 4) is not None:
            return self.number(i, 4), i + 1
        i = self.w.sign(i, "'") or i
        if self.number(i, 4, 4) is not None:
            return self.number(i, 4), i + 1
        short = self.number(i, 2, 2)
        return (self.by_pivot(short, i + 1), i + 1) if short is not None else None

    def by_pivot(self, short, at):
        if self.pivot is None:
            raise Refused("year-two-digits", at)
        year = self.pivot - self.pivot % 100 + short
        return year if year >= self.pivot else year + 100

    def ordinal(self, i):
        w = self.w
        if w.sign(i, "."):
            return i + 1
        j = w.is_a("ordinal-ending", i) if i < self.end and self.p[i].close else 0
        if j:
            return w.sign(j, ".") or j
        return w.is_a("ordinal-ending", i + 1) if w.sign(i, ":") else 0

    def month(self, i, behind_a_day=False):
        j = self.w.is_a("month", i)
        if j:
            return self.w.meaning("month", i), j
        if behind_a_day and i < self.end and self.p[i].text in MONTHS:
            return MONTHS[self.p[i].text], i + 1
        if behind_a_day and i < self.end and self.p[i].text.upper() in MONTHS and self.p[i].text.islower() and self.p[i].close and (
                self.w.sign(i + 1, ".") and self.number(i + 2, 4, 4) is not None and self.p[i + 2].close and self.p[i + 1].close):
            return MONTHS[self.p[i].text.upper()], i + 1
        return None

    # --- a day
    def before(self, i):
        w = self.w
        while i < self.end:
            j = w.is_a("weekday", i)
            if j and w.is_a("month", i) and not self.weekday_before_day(j):
                j = 0
            if j:
                j = w.sign(j, ".") or j
            else:
                j = w.any_of(i, "date-filler", "the", "weekend", "year", "day-part")
                j = self.some(j, "of") if j else w.sign(i, ",")
                if j and self.p[i].kind == "word":
                    j = w.sign(j, ".") or j
            k = w.any_of(i, "early", "middle", "late")
            if not j and k:
                k = self.some(k, "date-filler", "of", "weekend", "the")
                k = w.sign(k, "-") or k
                j = k if self.month(k) or w.is_a("season", k) or self.number(k, 4, 4) is not None else 0
            if not j or j >= self.end or len(self.p[i].text) == 1 and self.p[i].kind == "word" and self.p[j].close and self.p[j].kind == "number":
                return i
            i = j
        return i

    def weekday_before_day(self, i):
        i = self.w.sign(i, ".") or i
        return self.number(i, 2) is not None and bool(self.month(self.ordinal(i + 1) or i + 1))

    def day(self, i):
        i = self.before(i)
        for rule in (self.numbers, self.year_first, self.day_month, self.a_season, self.month_first, self.only_year):
            found = rule(i)
            if found:
                return found
        return None

    def numbers(self, i):
        w = self.w
        first, second = self.number(i, 4), self.number(i + 2, 4)
        sign = self.p[i + 1].text if i + 1 < self.end else ""
        if first is not None and second is not None and sign in tuple("./-"):
            year = w.sign(i + 4, "'") or i + 4
            if w.sign(i + 3, sign) and self.number(year, 4) is not None:
                return self.ordered((i, i + 2, year)), year + 1
            if sign == "/" and len(self.p[i].text) < 3:
                j = w.sign(i + 3, "-") or i + 3
                if self.number(j, 4, 4) is not None and not (w.sign(j + 1, "./-") and j + 2 < self.end):
                    return self.ordered((i, i + 2, j)), j + 1
            return self.two_numbers(i, first, second, sign)
        if first is not None and self.number(i + 1, 4) is not None and self.number(i + 2, 4) is not None:
            if len(self.p[i].text) < 3 and len(self.p[i + 1].text) < 3:
                return self.ordered((i, i + 1, i + 2)), i + 3
        return None

    def two_numbers(self, i, first, second, sign):
        sizes = len(self.p[i].text), len(self.p[i + 2].text)
        if sizes == (4, 4):
            return Day(first, until=Day(second)), i + 3
        if sizes[0] < 3 and sizes[1] == 4:
            return Day(second, first), i + 3
        if sizes[0] == 4 and sizes[1] < 3 and not (sign == "-" and not self.p[i + 1].close and not self.p[i + 2].close) and not (self.w.sign(i + 3, "./-") and i + 4 < self.end):
            return Day(first, second), i + 3
        if sizes[0] < 3 and sizes[1] < 3:
            j = self.joint(i + 3) if sign == "/" else 0
            if j and j + 4 < self.end and self.w.sign(j + 1, "/") and self.w.sign(j + 3, "/") and self.number(j + 4, 4, 4) is not None:
                return self.ordered((i, i + 2, j + 4)), i + 3  # 12/4-14/4/2026
            if sign != "." and self.joined_day(i + 2):
                return None  # 12-14/4/2026, 12/13 April
            if i + 3 == self.end:
                raise Refused("year-missing", self.end)
        return None

    def joined_day(self, i):
        if self.w.sign(i + 1, "./-") and self.number(i + 2, 2) is not None and self.number(i + 4, 4) is not None:
            return True
        return bool(self.month(self.some(self.ordinal(i + 1) or i + 1, "date-filler", "the", "of"), True))

    def ordered(self, places):
        """The date of three numbers, by the order that alone makes one or the given one."""
        figures = [self.p[place].text for place in places]
        at = places[-1] + 1
        made = {}
        for order in ("dmy", "mdy", "ymd"):
            part = dict(zip(order, figures))
            if len(part["y"]) == 4 and len(part["d"]) < 3 and len(part["m"]) < 3 or all(len(f) < 3 for f in figures) and len(part["y"]) == 2:
                year = int(part["y"])
                if valid(year if len(part["y"]) == 4 else 2000 + year, int(part["m"]), int(part["d"])):
                    made[order] = part
        lacking = [int(f) for f in figures[:2]] + [len(figures[0]) < 3 and len(figures[2]) == 2 and "dmy" not in made]
        if lacking[2] and 28 < lacking[0] < 32 and 0 < lacking[1] < 13 and self.order != "ymd":
            made.pop("ymd", None)  # a day that its month does not have is no year
        if self.order in made:
            chosen = made[self.order]
        elif not made:
            if any(len(f) > 4 or len(f) == 3 for f in figures):
                raise Refused("date-not-read", at)
            raise Refused("date-impossible", at)
        elif len({tuple(int(v) for _, v in sorted(part.items())) for part in made.values()}) > 1 and self.w.usual in made:
            chosen = made[self.w.usual]  # the order of the stated language
        elif len({tuple(int(v) for _, v in sorted(part.items())) for part in made.values()}) > 1:
            raise Refused("date-order-unknown", at)
        elif self.order and len(figures[0]) < 3:
            same = [order for order in made if order == self.order]
            if not same and self.order == "ymd":
                same = list(made)
            if not same:
                raise Refused("date-order-contradicted", at)
            chosen = made[same[0]]
        else:
            chosen = next(iter(made.values()))
        year = int(chosen["y"]) if len(chosen["y"]) == 4 else self.by_pivot(int(chosen["y"]), at)
        day = Day(year, int(chosen["m"]), int(chosen["d"]))
        day.month_first = figures[0] == chosen["m"] and figures[0] != chosen["d"]
        return day

    def year_first(self, i):
        year = self.number(i, 4, 4)
        if year is None:
            return None
        j = self.w.sign(i + 1, ",-") or i + 1
        season = self.w.is_a("season", j)
        if season:
            return Day(year, season=self.w.meaning("season", j)), season
        month = self.month(j)
        if not month:
            return None
        j = self.w.sign(month[1], "-") if self.w.sign(month[1], "-") and self.p[month[1]].close else month[1]
        day = self.number(j, 2)
        if day is not None:
            return Day(year, month[0], day), self.ordinal(j + 1) or j + 1
        return Day(year, month[0]), month[1]

    def day_month(self, i):
        day = self.number(i, 2)
        if day is None:
            return None
        j = self.ordinal(i + 1) or i + 1
        k = self.w.sign(j, "-/") or (self.w.sign(j, ".") if self.p[j - 1].text != "." else 0) or j
        month = self.month(self.some(k, "date-filler", "the", "of", "or"), True)
        if month:
            j = self.before_year(month[1])
            year = self.year(j) if self.number(self.w.sign(j, "'") or j, 4) is not None and not self.another_day(month[1], j) else None
            if year:
                return Day(year[0], month[0], day), year[1]
            return Day(None, month[0], day), self.w.sign(month[1], ".") or month[1]
        if self.joint(j) or self.joint(i + 1):
            return Day(None, None, day), j
        return None

    def before_year(self, j):
        """Past the signs and small words between a month and its year."""
        w = self.w
        while w.any_of(j, "=,.", "date-filler", "of", "year") or w.sign(j, "-/") and (
                self.p[j].close or self.number(j + 1, 4, 4) is not None or self.number(j + 1, 2, 2) is not None and self.p[j + 1].close):
            j = w.any_of(j, "=,.-/", "date-filler", "of", "year")
        return j

    def another_day(self, before, i):
        """Whether figures behind a month begin a second day: 28 April - 2 May."""
        return self.number(i, 2) is not None and bool(self.w.sign(before, "-/")) and bool(self.month(self.ordinal(i + 1) or i + 1, True))

    def month_first(self, i):
        w, month = self.w, self.month(i)
        if not month:
            return None
        number, j = month
        j = w.sign(j, ".") if w.sign(j, ".") and self.p[j].close else j
        day = self.number(j, 2)
        if day is not None and not (self.p[j - 1].text == "'"):
            k = self.ordinal(j + 1) or j + 1
            if self.joint(k) and self.day(self.joint(k)):
                return Day(None, number, day), k
            until = None
            if w.sign(k, "-") and self.number(k + 1, 2) is not None:
                until, k = self.number(k + 1, 2), self.ordinal(k + 2) or k + 2
            k = w.sign(k, ",") or k
            if self.number(w.sign(k, "'") or k, 4) is not None:
                year, k = self.year(k) or (None, k)
                if year is not None:
                    return Day(year, number, day, until=Day(year, number, until) if until else None), k
        if self.number(j, 2, 2) is not None and self.number(j, 2) <= 31 and not self.w.sign(j - 1, "'"):
            return Day(None, number, day), self.ordinal(j + 1) or j + 1
        year = self.year(self.before_year(j))
        if year:
            return Day(year[0], number), year[1]
        return Day(None, number), j

    def a_season(self, i):
        w, j = self.w, self.w.is_a("season", i)
        if not j:
            return None
        season, j = w.meaning("season", i), self.some(w.sign(j, ".") or j, "date-filler", "of", "year", "=,")
        year = self.number(j, 4, 4)
        if year is None:
            if self.w.sign(j, "'") or self.number(j, 2, 2) is not None:
                found = self.year(j)
                return Day(found[0], season=season), found[1]
            return Day(None, season=season), j
        if season == 24 and w.sign(j + 1, "/-") and (self.number(j + 2, 2, 2) is not None or self.number(j + 2, 4, 4) is not None):
            if int(self.p[j + 2].text) % 100 == (year + 1) % 100:
                return Day(year, season=season), j + 3
        return Day(year, season=season), j + 1

    def only_year(self, i):
        year = self.number(i, 4, 4)
        return (Day(year), i + 1) if year is not None else None

    def joint(self, i):
        w = self.w
        j = w.any_of(i, "=-/&", "to", "until", "and")
        if not j and i < self.end and not self.p[i].close and len(self.p[i].text) < 3:
            j = w.is_a("ordinal-ending", i)
        return self.some(j, "date-filler", "the", "to") if j else 0

    # --- a time of day
    def time(self, i):
        """(time, end) or nothing."""
        w, start = self.w, i
        while i < self.end and (w.sign(i, ",-;") or self.p[i].text == "T" or w.is_a("year", i) and len(self.p[i].text) == 1):
            i += 1
        i = self.some(i, "at-time", "about")
        i = w.sign(i, ".") or i
        four = self.number(i, 4, 4)
        if four is not None and i > start:
            hour, minute, second, i = four // 100, four % 100, None, i + 1
        else:
            hour, minute, second = self.number(i, 2), None, None
            if hour is None:
                return None
            i += 1
            j = w.any_of(i, "=:.", "oclock")
            if j and self.p[i].kind == "sign" and not (self.p[i].close and self.p[min(j, self.end - 1)].close):
                j = 0
            if j and self.number(j, 2, 2) is not None:
                minute, i = self.number(j, 2), j + 1
                if w.sign(i, ":") and self.p[i].close and self.number(i + 1, 2, 2) is not None and self.p[i + 1].close:
                    second, i = self.number(i + 1, 2), i + 2
        behind = self.word_behind(i)
        if behind:
            half, i = behind
            if half:
                if not 1 <= hour <= 12:
                    return None
                hour = hour % 12 + (12 if half == "pm" else 0)
        elif minute is None:
            return None
        if hour > 23 or (minute or 0) > 59 or (second or 0) > 59:
            return None
        offset, i = self.offset(i)
        seconds = "" if second is None else f":{second:02}"
        return f"{hour:02}:{minute or 0:02}{seconds}{offset}", i

    def word_behind(self, i):
        if i < self.end and self.p[i].word in ("am", "pm"):
            return self.p[i].word, i + 1
        j = self.w.is_a("oclock", i)
        return ("", self.w.sign(j, ".") or j) if j else None

    def offset(self, i):
        if i < self.end and self.p[i].word in ("gmt", "utc"):
            sign = self.w.sign(i + 1, "+-")
            if not sign or self.number(sign, 4, 1) is None:
                return "Z", i + 1
            if self.number(sign, 1, 1) is not None:
                return f"{self.p[i + 1].text}0{self.p[sign].text}:00", sign + 1
            i += 1
        if i < self.end and self.p[i].text in ("Z", "z"):
            return "Z", i + 1
        sign = self.w.sign(i, "+-")
        if sign and self.number(sign, 4, 2) is not None:
            text, j = self.p[sign].text, sign + 1
            if self.w.sign(j, ":") and self.number(j + 1, 2, 2) is not None:
                text, j = text + self.p[j + 1].text, j + 2
            hours, minutes = int(text[:2]), int(text[2:] or 0)
            if hours > 14 or hours == 14 and minutes:
                raise Refused("time-offset", j)
            return f"{self.p[i].text}{hours:02}:{minutes:02}", j
        return "", i

    # --- the whole
    def week(self):
        """A week of a year, in words: its Monday and Sunday, or nothing."""
        w = self.w
        i = w.is_a("week", 0)
        if i:
            i = w.sign(i, ".") or i
            number, i = self.number(i, 2), i + 1
        else:
            number, i = self.number(0, 2), w.is_a("week", self.ordinal(1) or 1)
            i = i and (w.sign(i, ".") or i)
        if number is None or not i:
            return None
        while w.any_of(i, "=,/-", "of", "date-filler", "year"):
            i = w.any_of(i, "=,/-", "of", "date-filler", "year")
        found = self.year(i) if i < self.end else None
        return week(f"{found[0]:04}W{number:02}") if found and found[1] == self.end else None

    def text(self):
        w, i = self.w, 0
        found = self.week()
        if found:
            return *found, None
        while w.any_of(i, "since", "from", "of", "between") and not (w.is_a("month", i) and self.number(i + 1, 4, 4)):
            i = w.any_of(i, "since", "from", "of", "between")
        found = self.day(i)
        if not found:
            raise Refused("date-not-read")
        first, i = found
        second, time, behind = first.until, None, i
        j = self.joint(i) if second is None else 0
        if j:
            found = self.day(j)
            if found and found[0].until is None:
                second, i = found
        if first.year is None:
            first.year = second.year if second else None
        if second and first.month is None and first.season is None:
            first.month = second.month if first.day is not None else None
            if first.day is not None and second.day is None:
                raise Refused("date-not-read")
            if getattr(second, "month_first", False):
                raise Refused("date-impossible")
        i = self.closing(i)
        if self.some(i, "day-part", "date-filler", "the") == self.end:
            i = self.end
        if i < self.end and first.year is not None and first.day is not None:
            clock = self.time(i)
            if clock:
                time, i = clock
        if first.year is None:
            raise Refused("year-missing")
        if i < self.end:
            raise Refused("date-not-read")
        if time and second:
            raise Refused("time-not-read")
        return first, second, time

    def closing(self, i):
        w = self.w
        while w.sign(i, ",;") or w.sign(i, ".") and (i + 1 == self.end or self.p[i].close and self.p[i - 1].kind != "sign") or (
                w.sign(i, "-") and not self.p[i].close):
            i += 1
        j = w.is_a("year", i)
        return (w.sign(j, ".") or j) if j else i


QUALIFIED = r"\d{4}(?:-\d\d(?:-\d\d)?)?"


def canonical(text):
    """A text that is EDTF, or the compact forms of ISO 8601, as it stands; else nothing."""
    text = re.sub(r"^([~?%])(\d{4})$", r"\2\1", text)
    if re.fullmatch(r"\.\./.+|.+/\.\.|/\d{4}\S*|\d{4}\S*/", text):
        raise Refused("date-open")
    text = re.sub(r"^(\d{4})-XX-XX$", r"\1", text)
    if re.fullmatch(r"[\[{].*[\]}]", text) and re.search(r"\d{4}", text) or re.fullmatch(r"\d{2,3}X+|\d{4}-(\d\d-\dX|XX-.*|\dX.*)", text):
        raise Refused("date-too-vague")
    text = re.sub(r"^(\d{4})(?:-XX){2}$", r"\1", re.sub(r"^(\d{4}(?:-\d\d)?)-XX$", r"\1", text))
    if re.fullmatch(r"-\d{4}", text):
        raise Refused("date-impossible")
    found = re.fullmatch(r"(\d{4})(\d\d)(\d\d)", text)
    if found:
        return Day(*map(int, found.groups())), None, ""
    found = re.fullmatch(r"(\d{4})-(\d{3})", text)
    if found:
        day = datetime.date(int(found[1]), 1, 1) + datetime.timedelta(int(found[2]) - 1)
        if day.year != int(found[1]):
            raise Refused("date-impossible")
        return Day(day.year, day.month, day.day), None, ""
    found = re.fullmatch(rf"({QUALIFIED})([~?%]?)(?:/({QUALIFIED})([~?%]?))?", text)
    if not found or found[3] and "-" not in found[1] + found[3]:
        return None
    return edtf_day(found[1]), found[3] and edtf_day(found[3]), found[2] or ""


def edtf_day(text):
    year, month, day = (list(map(int, text.split("-"))) + [None, None])[:3]
    if month is not None and day is None and 21 <= month <= 24:
        return Day(year, season=month)
    if month is not None and day is None and month > 24:
        raise Refused("date-too-vague")
    return Day(year, month, day)


def week(text):
    found = re.fullmatch(r"(\d{4})-?W(\d\d)(?:-?(\d))?", text)
    if not found:
        return None
    try:
        day = datetime.date.fromisocalendar(int(found[1]), int(found[2]), int(found[3] or 1))
    except ValueError:
        raise Refused("date-impossible") from None
    of = lambda d: Day(d.year, d.month, d.day)
    return of(day), None if found[3] else of(day + datetime.timedelta(6))


def serial(text, system):
    """A number of a workbook's date system: (day, time) or nothing."""
    found = re.fullmatch(r"(\d+)(?:[.,](\d+))?", text)
    if not found or re.fullmatch(r"\d{4}|\d{8}", text):
        return None
    if system is None:
        if len(found[1]) == 5:
            raise Refused("serial-not-expected")
        return None
    number = int(found[1])
    if system == "1900":
        if number in (0, 60) or number > 2958465:
            raise Refused("serial-impossible")
        day = datetime.date(1899, 12, 31) + datetime.timedelta(number - (number > 60))
    else:
        if number > 2958465 - 1462:
            raise Refused("serial-impossible")
        day = datetime.date(1904, 1, 1) + datetime.timedelta(number)
    time = None
    if found[2]:
        minutes = round(Fraction(int(found[2]), 10 ** len(found[2])) * 1440)
        time = f"{minutes // 60:02}:{minutes % 60:02}"
    return Day(day.year, day.month, day.day), time


def last_day(text):
    """The first day that an EDTF date covers, to be compared with today."""
    return {4: text + "-01-01", 7: text + "-01"}.get(len(text), text)


def bounds(text):
    """The first and the last day of an EDTF day, month, season or year."""
    year, month, day = (text.split("-") + [None, None])[:3]
    if month and month > "20":
        month = None  # a season has no fixed months
    low, high = month or "01", month or "12"
    return f"{year}-{low}-{day or '01'}", f"{year}-{high}-{day or '31'}"


def finish(first, second, time, mark, today):
    start, end = first.edtf(), second and second.edtf()
    seasons = end and len(start) == len(end) == 7 and min(start[5:], end[5:]) > "20"
    if end and (end < start if seasons else bounds(end)[1] < bounds(start)[0]):
        raise Refused("date-reversed")
    if end == start:
        end = None
    if today and last_day(re.sub(r"-2[1-4]$", "", end or start)) > today:
        raise Refused("date-future")
    out = {"date": f"{start}{mark}/{end}{mark}" if end else start + mark}
    if time:
        out["time"] = time
    return out


def read(text, vector, language):
    """The members of a day of finding, {"absent": reason}, or {"error": code}."""
    reason = absent(text, "date", language)
    if reason:
        return {"absent": reason}
    if re.fullmatch(r"[\[{]\d{4}.*[,.]{1,2}.*[\]}]", text.strip()):
        return {"error": "date-too-vague"}  # a set
    text, today = clean(text), vector.get("today")
    if not text:
        return {"error": "date-empty"}
    try:
        found = serial(text, vector.get("serial"))
        if found:
            return finish(found[0], None, found[1], "", today)
        found = canonical(text)
        if found:
            return finish(found[0], found[1], None, found[2], today)
        found = week(text)
        if found:
            return finish(found[0], found[1], None, "", today)
        words = Words(cut(text, decimals=False), "date", language, "date")
        if words.pieces and words.is_a("day-near", 0) == len(words.pieces):
            raise Refused("date-relative")
        reader = Reader(text, vector.get("order"), vector.get("pivot"), language)
        first, second, time = reader.text()
        mark = "%" if len(reader.mark) == 2 else "".join(reader.mark)
        return finish(first, second, time, mark, today)
    except Refused as refused:
        return {"error": refused.code}
