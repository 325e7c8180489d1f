"""How old something is, read as schema/grammar/dating.peg says."""

import re

import dates
from words import Refused, Words, absent, clean, cut

ROMAN = re.compile(r"(x{0,3})(ix|iv|v?i{0,3})$", re.I)
UNITS = {"": 0, "i": 1, "ii": 2, "iii": 3, "iv": 4, "v": 5, "vi": 6, "vii": 7, "viii": 8, "ix": 9}
PARTS = {}
WORDS = {"half": 2, "third": 3, "quarter": 4}


def roman(word):
    found = ROMAN.match(word.lower())
    return 10 * len(found[1]) + UNITS[found[2].lower()] if found and word else 0


def year_text(year):
    if abs(year) > 9999:
        return f"Y{year}"
    return f"-{-year:04}" if year < 0 else f"{year:04}"


class Side:
    def __init__(self, start):
        self.kind, self.n, self.unit, self.named, self.hundreds, self.decade = "", 0, 100, False, False, False
        self.era, self.marks, self.closing, self.part, self.day = 0, set(), False, None, None
        self.start, self.end, self.dotted, self.digits = start, start, False, 0

    def points(self):
        """The first and the last date of the side: (text, first year, last year) each."""
        mark = "%" if len(self.marks) == 2 else "".join(self.marks)
        if self.kind == "day":
            text, year = self.day.edtf(), self.day.year
            return ((text + mark, year, year),) * 2
        if self.kind == "decade":
            span = 99 if self.hundreds else 9
            if self.era < 0:
                return tuple((year_text(y) + mark, y, y) for y in (1 - self.n - span, 1 - self.n))
            text = f"{self.n // 100:02}XX" if self.hundreds else f"{self.n // 10:03}X"
            return ((text + mark, self.n, self.n + span),) * 2
        if self.kind == "century":
            (k, parts), (until, of) = self.part or ((1, 1), (1, 1))
            low, high = self.unit * (k - 1) // parts, self.unit * until // of - 1
            base = 1 - self.n * self.unit if self.era < 0 else (self.n - 1) * self.unit + 1
            return tuple((year_text(y) + mark, y, y) for y in (base + low, base + high))
        year = 1 - self.n if self.era < 0 else self.n
        return ((year_text(year) + mark, year, year),) * 2


class Reader(dates.Reader):
    def __init__(self, text, language, pivot, order):
        self.order, self.pivot, self.language = order, pivot, language
        self.w = Words(cut(text, decimals=False), "date", language, "dating date")
        self.p, self.mark, self.source = self.w.pieces, set(), text
        self.end = len(self.p)

    def drop(self, start, end):
        del self.p[start:end]
        self.w.found = [self.w.forms_at(i) for i in range(len(self.p))]
        self.end = len(self.p)

    def text(self, i, j):
        """The words of pieces as they were written."""
        return "".join(("" if piece.close and k else " ") + piece.text for k, piece in enumerate(self.p[i:j])).strip()

    def word(self, i):
        return self.p[i].text if 0 <= i < self.end and self.p[i].kind == "word" else ""

    def unknown(self, i):
        return bool(self.word(i)) and not self.w.found[i] and not self.w.number_at(i)

    def capital(self, i):
        return self.word(i)[:1].isupper()

    def numeral(self, i):
        """The value of a Roman numeral, alone or with the ending of an ordinal."""
        word = self.word(i)
        value = roman(word)
        if not value and word:
            found = re.match(r"[xvi]+", word, re.I)
            rest = word[found.end():].lower() if found else ""
            if rest and any((rest,) in lang.forms.get(rest, {}) and any(n == "ordinal-ending" for n, _ in lang.forms[rest][(rest,)]) for lang in self.w.all):
                value = roman(found[0])
        return value

    # --- event and period, wherever they stand
    def event(self):
        event, i = "", 0
        while i < self.end:
            j = self.w.is_a("event", i)
            if not j:
                i += 1
                continue
            meaning = self.w.meaning("event", i)
            if event and meaning != event:
                return event
            event = meaning
            j = self.w.sign(j, ".") or j
            self.drop(i, self.w.sign(j, ":,") or j)
        return event

    def war(self, i):
        return self.w.any_of(i, "war", "war-tail") and (not self.w.is_a("weekday", i) or self.word(i).isupper())

    def inflected(self, word):
        forms = {form for lang in self.w.all for form, names in lang.forms.get(word, {}).items() for name, _ in names if name == "period" and len(form) == 1}
        return (word,) in forms

    def period_word(self, i):
        j = self.w.is_a("period", i) or self.war(i) and self.w.is_a("war", i)
        if j or not self.unknown(i) or len(self.word(i)) < 6:
            return j
        word = self.p[i].word
        for start in [""] + [f for f in self.parts_of_periods("period-front") if word.startswith(f) and len(word) > len(f) + 4]:
            rest = word[len(start):]
            stems = [rest] + [rest[:-len(end)] for end in self.parts_of_periods("period-ending") if rest.endswith(end)]
            if any(len(stem) >= 5 and self.inflected(stem) for stem in stems):
                return i + 1
        return 0

    def parts_of_periods(self, name):
        if name not in PARTS:
            PARTS[name] = {form for lang in self.w.all for forms in lang.forms.values() for (form, *rest), names in forms.items() if not rest and any(n == name for n, _ in names)}
        return PARTS[name]

    def regnal(self, i):
        return self.capital(i) and self.unknown(i) and len(self.word(i)) > 2 and not self.numeral(i) and i + 1 < self.end and not self.p[i + 1].close and (
            re.fullmatch("[IVX]+", self.word(i + 1)) and self.numeral(i + 1)) and not self.w.is_a("century", i + 2)

    def begins(self, i):
        return bool(self.period_word(i) or self.w.is_a("period-tail", i) or self.w.is_a("reign", i) or self.regnal(i) or self.war(i))

    def period(self):
        for i in range(self.end):
            end = self.period_end(i)
            if end > i:
                start = i
                while start and self.leads(start - 1):
                    start -= 1
                while start < i and self.w.sign(start, "-/"):
                    start += 1
                label = self.text(start, end)
                self.drop(self.w.sign(start - 1, ",;") and start - 1 or start, end)
                return label
        return ""

    def period_end(self, i):
        if not self.begins(i):
            return i
        w, at, end, words, tails = self.w, i, i, 0, 0
        while at < self.end:
            j = self.period_word(at) or w.is_a("reign", at)
            if j:
                words += 1
                at = end = j
            elif w.any_of(at, "period-tail", "war-tail"):
                tails += 1
                at = end = w.any_of(at, "period-tail", "war-tail")
            elif self.regnal(at):
                words += 1
                at = end = at + 2
            elif at > i and (self.numeral(at) or self.number(at, 1) is not None) and w.any_of(at - 1, "war", "war-tail", "period-tail"):
                at = end = at + 1
            elif w.any_of(at, "later", "earlier") and w.any_of(at - 1, "or", "and"):
                at = end = at + 1
            elif self.capital(at) and self.unknown(at) and w.is_a("reign", i):
                at = end = at + 1
            else:
                j = w.any_of(at, "=-/&", "to", "or", "and", "early", "middle", "late", "period-head", "date-filler", "the", "until", "ordinal-ending", "of")
                if not j:
                    break
                at = j
        if not words and tails == 1 and self.war(i) and i and self.capital(i - 1) and self.unknown(i - 1):
            return end
        if not words and tails < 2 and not (tails == 1 and i and w.any_of(i - 1, "early", "middle", "late")):
            return i
        return end

    def leads(self, i):
        w = self.w
        if w.any_of(i, "early", "middle", "late", "period-head", "older", "younger", "ordinal"):
            return True
        if w.sign(i, ".") and self.leads(i - 1) and self.war(i + 1):
            return True
        if self.number(i, 1) is not None or self.numeral(i) in (1, 2):
            return bool(self.war(self.some(self.w.sign(i + 1, ".") or i + 1, "ordinal-ending")))
        if w.is_a("ordinal-ending", i) and self.p[i].close:
            return bool(self.war(i + 1))
        if self.capital(i) and self.unknown(i) and (self.war(i + 1) or self.war(i + 2) and self.begins(i + 1)):
            return True
        if w.any_of(i, "before", "after"):
            return bool(w.sign(i + 1, "-")) or self.p[i].word in ("post", "pre") and bool(w.is_a("period", i + 1))
        return bool(w.any_of(i, "=-/", "to")) and i > 0 and bool(w.any_of(i - 1, "early", "middle", "late", "period-head", "after", "before"))

    def brackets(self):
        for i in reversed(range(self.end)):
            edge = i in (0, self.end - 1)
            if self.w.sign(i, "()[]\"") or edge and self.w.sign(i, ",;:."):
                self.drop(i, i + 1)

    # --- marks and small words
    def mark_at(self, i):
        """(marks, end) of about and unsure."""
        w = self.w
        if w.sign(i, "?") or w.is_a("unsure", i):
            return {"?"}, w.sign(w.is_a("unsure", i), ".") or w.any_of(i, "=?", "unsure")
        if w.sign(i, "%"):
            return {"~", "?"}, i + 1
        j = w.any_of(i, "=~±", "about", "around", "nearly", "just", "ish")
        if j and not self.letter_of_century(i):
            return {"~"}, w.sign(j, ".") or j
        return None

    def letter_of_century(self, i):
        return self.word(i) in ("C", "c") and i + 1 < self.end and self.p[i + 1].close and self.number(i + 1, 2) is not None

    def lead(self, i):
        w, opened, marks, negated = self.w, "", set(), False
        while i < self.end:
            mark = self.mark_at(i)
            if mark:
                marks |= mark[0]
                i = mark[1]
                continue
            j = w.is_a("not", i)
            if j:
                negated, i = True, j
                continue
            if self.numeral(i) and self.capital(i) and self.part(i) or w.is_a("era", i) > max(w.is_a("before", i), w.is_a("after", i)):
                break
            found, j = "", 0
            for name, plain, turned in (("before", "before", "since"), ("after", "after", "until"), ("until", "until", "until"), ("since", "since", "since")):
                sign = {"before": "<", "after": ">"}.get(name, "")
                k = w.is_a(name, i) or (w.sign(i, sign) if sign else 0)
                if k and not (name == "after" and not negated and w.sign(i, ">") and False):
                    found, j = turned if negated else plain, k
                    break
            if not j and negated:
                k = w.any_of(i, "later", "younger", "late")
                found, j = ("until", k) if k else ("", 0)
                if not k:
                    k = w.any_of(i, "earlier", "older", "early")
                    found, j = ("since", k) if k else ("", 0)
            if not j and w.is_a("from", i) and not w.is_a("date-filler", i):
                found, j = "from", w.is_a("from", i)
            if not j and w.is_a("between", i):
                found, j = "between", w.is_a("between", i)
            if not j and w.is_a("of", i) and any(w.any_of(k, "to", "until") for k in range(i + 1, self.end)):
                found, j = "between", w.is_a("of", i)
            if not j and w.is_a("year", i) and self.number(w.is_a("year", i), 2, 2) is not None:
                break
            if not j:
                j = w.any_of(i, "date-filler", "than", "the", "=,", "and") or (w.is_a("year", i) if not w.is_a("decade-years", i) else 0)
                if not j and w.is_a("since", i + 1):
                    j = w.is_a("at-time", i)
            if not j:
                break
            if found == "until":
                j = w.is_a("to", j) or j
            i, opened = w.sign(j, ".") or j, found or opened
            if w.sign(i, "'-") and self.p[i].close and (found or w.sign(i, "'")):
                i += 1
        return opened, marks, i

    def part(self, i):
        """((k, of), end) of a part of a century."""
        w = self.w
        for k, name in enumerate(("early", "middle", "late"), 1):
            j = w.is_a(name, i)
            if j:
                j = w.sign(j, ".") or j
                for word, of in WORDS.items():
                    if w.is_a(word, j):
                        k = of if k == 3 and of == 2 else k
                        return ((k, of), w.sign(w.is_a(word, j), ".") or w.is_a(word, j)) if k <= of else None
                return (k, 3), j
        last, k, j = w.is_a("last", i), 0, 0
        if last:
            k, j = -1, last
        elif w.is_a("ordinal", i):
            k, j = int(w.meaning("ordinal", i)), w.is_a("ordinal", i)
        elif self.number(i, 1) is not None:
            k, j = self.number(i, 1), i + 1
        elif 0 < self.numeral(i) < 5:
            k, j = self.numeral(i), i + 1
        if not k:
            return None
        j = self.some(self.ordinal(j) or j, "ordinal-ending")
        for word, of in WORDS.items():
            end = w.is_a(word, j)
            if not end and of == 3 and w.is_a("ordinal", j) and int(w.meaning("ordinal", j)) == 3:
                end = w.is_a("ordinal", j)
            if not end and of == 2 and self.word(j) == "H" and w.sign(j + 1, ".") and w.sign(i + 1, "."):
                end = j + 1
            if end and k <= of:
                return (of if k < 0 else k, of), w.sign(end, ".") or end
        return None

    # --- one date
    def side(self, i):
        w, side, plural, years = self.w, Side(i), False, False
        while i < self.end:
            mark = self.mark_at(i)
            j = 0
            if mark:
                side.marks |= mark[0]
                j = mark[1]
            elif w.is_a("era", i):
                side.era, j = int(w.meaning("era", i)), w.is_a("era", i)
            elif w.any_of(i, "year", "decade-years"):
                years, plural, j = True, plural or bool(w.is_a("decade-years", i)), w.any_of(i, "year", "decade-years")
            elif w.any_of(i, "date-filler", "the", "of", "period-tail") and not (self.numeral(i) and self.capital(i) and self.part(i)):
                j = w.any_of(i, "date-filler", "the", "of", "period-tail")
            elif w.is_a("or", i) and side.part or w.is_a("ordinal-ending", i) and not self.p[i].close and i > side.start:
                j = w.any_of(i, "or", "ordinal-ending")
            else:
                found = self.part(i)
                if not found:
                    break
                side.part, j = (found[0], found[0]), found[1]
                if w.sign(j, "-") and not self.part(j + 1) and j + 1 < self.end and (self.p[j].close or not self.p[j + 1].close):
                    j += 1
                joint, _ = self.join(j)
                more = self.part(joint) if joint > j else None
                if more:
                    side.part, j = (found[0], more[0]), w.sign(more[1], "-") or more[1]
                i = j
                continue
            i = w.sign(j, ".") or j
        side.start = min(side.start, i)
        return self.core(i, side, plural, years)

    def core(self, i, side, plural, years):
        w, start = self.w, i
        if self.number(i, 99) is not None:
            i = self.figures(i, side, plural, years)
        elif self.letter_of_century(i):
            side.kind, side.n, side.named = "century", self.number(i + 1, 2), True
            i = self.ordinal(i + 2) or i + 2
        elif w.is_a("ordinal", i) and not w.is_a("month", i):
            side.kind, side.n = "century", int(w.meaning("ordinal", i))
            i = self.century(w.is_a("ordinal", i), side)
        elif self.numeral(i) and not w.is_a("month", i):
            side.kind, side.n, word = "century", self.numeral(i), self.word(i)
            side.dotted = bool(w.sign(i + 1, "."))
            i = self.century(self.ordinal(i + 1) or i + 1, side)
            if not side.named and i <= start + 2 and word[0].isupper() and side.n > 3 and len(word) > 2 and word.endswith("e"):
                side.named = True
        elif w.any_of(i, "month", "season", "weekday"):
            found = self.day(i)
            if found:
                i = self.whole(found, side)
        if i == start:
            side.kind = "part" if side.part else ""
            side.end = i
            return side, i
        return side, self.behind(i, side)

    def whole(self, found, side):
        day, i = found
        if day.year is None:
            raise Refused("year-missing", i)
        if day.month and not dates.valid(day.year, day.month, day.day or 1):
            raise Refused("date-impossible", i)
        side.kind, side.day = "day", day
        return i

    def figures(self, i, side, plural, years):
        w, digits, n = self.w, len(self.p[i].text), int(self.p[i].text)
        signs = [self.p[k].text for k in (i + 1, i + 3) if k < self.end]
        three = len(signs) == 2 and signs[0] == signs[1] and signs[0] in "./-" and self.number(i + 2, 4) is not None and self.number(i + 4, 4) is not None
        named = digits < 3 and self.month(self.some(self.ordinal(i + 1) or i + 1, "date-filler", "the", "of"), True)
        if three or named or digits == 4 and self.month(i + 1) and not self.century_word(i + 2):
            found = self.day(i)
            if found:
                return self.whole(found, side)
        if digits > 6:
            raise Refused("dating-not-read", i)
        j = i + 1
        hundreds = w.is_a("hundreds-ending", w.sign(j, "-'") or j)
        if hundreds and digits > 2:
            return self.decade(n, w.sign(hundreds, ".") or hundreds, side, True)
        end = self.decade_end(j)
        if digits > 2:
            if end or plural and n % 10 == 0:
                return self.decade(n, end or j, side, False)
            side.kind, side.n = "year", n
            mint = w.sign(j, "-")
            if mint and mint + 1 == self.end and self.p[j].close and self.p[mint].close and re.fullmatch("[A-Z]{1,2}", self.word(mint)):
                j = mint + 1
            return j
        if digits == 2 and n % 10 == 0 and (years or end):
            found = self.tens(max(j, end), n, side)
            if found:
                return found
            if end:
                side.kind, side.n, side.decade = "bare", n, True
                return end
        dot = bool(w.sign(j, "."))
        k = self.ordinal(j) or j
        if w.is_a("ordinal-ending", k) and (self.p[k].close or k == j and self.century_word(k + 1)):
            k = w.is_a("ordinal-ending", k)
        side.n, side.digits = n, digits
        if k < self.end and self.p[k].close and re.fullmatch("(?:th|st|nd|rd)[cC]", self.word(k)):
            side.kind, side.named = "century", True
            return w.sign(k + 1, ".") or k + 1
        if dot or k > j or self.century_word(k):
            side.kind, side.dotted = "century", self.p[k - 1].text == "."
            if dot and not self.century_word(k) and w.is_a("era", k):
                side.kind = "bare"
            return self.century(k, side)
        side.kind = "bare"
        return j

    def tens(self, i, n, side):
        i = self.ordinal(i) or i
        while self.w.any_of(i, "=-'", "ordinal-ending", "of"):
            i = self.w.any_of(i, "=-'", "ordinal-ending", "of")
        try:
            of, end = self.side(i)
        except Refused:
            return 0
        if of.kind != "century" or not of.named or of.unit != 100 or of.part:
            return 0
        side.kind, side.n, side.era = "decade", 100 * (of.n - 1) + n, of.era
        side.marks |= of.marks
        return end

    def decade_end(self, i):
        w = self.w
        quote = bool(w.sign(i, "'")) or bool(w.sign(i, "-")) and self.p[i].close and i + 1 < self.end and self.p[i + 1].close
        i += quote
        if i >= self.end or not self.p[i].close or not self.word(i) or w.sign(i + 1, ".") and not quote:
            return 0
        j = w.is_a("decade-ending", i) or (w.is_a("decade-years", i) if quote else 0)
        if j:
            j = w.sign(j, ".") or j
            return w.any_of(j, "year", "decade-years") or j
        return 0

    def decade(self, n, end, side, hundreds):
        if not n or n > 9990 or n % 10:
            raise Refused("dating-not-read", end)
        side.kind, side.n = "decade", n
        if n % 100 == 0 and side.part:
            side.kind, side.n, side.named = "century", n // 100 + 1, True
        elif n % 100 == 0:
            side.hundreds = True
        return end

    def century_word(self, i):
        i = self.w.sign(i, "-") or i
        return bool(self.w.any_of(i, "century", "millennium")) or self.short_century(i)

    def short_century(self, i):
        if not self.w.is_a("century-short", i) or len(self.word(i)) != 1:
            return False
        if self.w.is_a("about", i):
            behind = self.w.sign(i + 1, ".") or i + 1
            return not self.letter_of_century(i) and self.number(behind, 99, 3) is None
        return not self.p[i].close

    def century(self, i, side):
        w = self.w
        j = w.sign(i, "-") if w.sign(i, "-") and self.p[i].close else i
        end = w.any_of(j, "century", "millennium") or (j + 1 if self.short_century(j) else 0)
        if not end:
            return i
        side.named = True
        if w.is_a("millennium", j):
            side.unit = 1000
        return w.sign(end, ".") or end

    def behind(self, i, side):
        w = self.w
        while i < self.end:
            mark, j = self.mark_at(i), 0
            if mark and (not w.any_of(i, "about", "around", "nearly", "just", "ish") or mark[1] == self.end and side.kind != "century"):
                side.marks |= mark[0]
                side.closing, j = True, mark[1]
            elif w.is_a("era", i):
                side.era, j = int(w.meaning("era", i)), w.is_a("era", i)
            elif w.any_of(i, "year", "decade-years", "period-tail"):
                j = w.any_of(i, "year", "decade-years", "period-tail")
            elif w.any_of(i, "date-filler", "the") == self.end and side.kind != "day":
                j = self.end
            elif (side.kind == "century" or side.hundreds) and not side.part:
                found = self.part(w.sign(i, ",") or i)
                if not found:
                    break
                k = found[1]
                if self.number(k, 99) is not None or w.sign(k, "-") and self.number(k + 1, 99) is not None or self.numeral(k):
                    break
                side.part, j = (found[0], found[0]), k
                if side.hundreds:
                    side.kind, side.n, side.named, side.hundreds = "century", side.n // 100 + 1, True, False
            if not j:
                break
            i = w.sign(j, ".") or j
        side.end = i
        return i

    def join(self, i):
        """(end, how) of what joins two dates."""
        w, how = self.w, ""
        while i < self.end:
            j = w.any_of(i, "=-/", "to", "until")
            if j:
                how = "to"
            elif w.is_a("ordinal-ending", i) and not self.p[i].close and not how:
                j, how = w.is_a("ordinal-ending", i), "to"
            elif how and w.any_of(i, "ordinal-ending", "of"):
                j = w.any_of(i, "ordinal-ending", "of")
            elif w.is_a("or", i):
                j, how = w.is_a("or", i), how or "or"
            elif w.any_of(i, "=&", "and"):
                j, how = w.any_of(i, "=&", "and"), "and"
            elif w.any_of(i, "date-filler", "the") or not how and w.sign(i, ","):
                j = w.any_of(i, "date-filler", "the", "=,")
            else:
                break
            i = w.sign(j, ".") if self.p[j - 1].kind == "word" and w.sign(j, ".") else j
        return i, how

    # --- both
    def settle(self, first, second):
        if second:
            self.share(first, second)
            self.settle_one(second)
        self.settle_one(first)

    def share(self, first, second):
        if first.kind == "part" and second.kind == "century":
            first.kind, first.n, first.named, first.unit = "century", second.n, second.named, second.unit
        if second.kind == "decade" and second.hundreds and first.kind == "bare":
            first.kind, first.n, first.hundreds = "decade", first.n * 100, True
        for one, other in ((second, first), (first, second)):
            if one.kind == "century" and one.named and (other.kind == "century" and not other.named or other.kind == "bare"):
                other.kind, other.named, other.unit = "century", True, one.unit
        if second.hundreds and first.kind == "year" and first.n % 100 == 0:
            first.kind, first.hundreds = "decade", True
        if first.kind == "decade" and not first.hundreds and second.decade:
            second.kind, second.n, second.decade = "decade", first.n // 100 * 100 + second.n, False
        if first.kind == second.kind == "century" and not first.named and not second.named and first.n < second.n < first.n + 4 and not (
                first.dotted or second.dotted):
            first.named = second.named = True
        first.era = first.era or second.era
        if first.era > 0 and not second.era:
            second.era = first.era
        if first.era < 0 and not second.era:
            raise Refused("dating-ambiguous")
        if second.kind == "bare" and first.kind == "year" and not first.era and not second.era and not second.decade:
            unit = 10 if second.digits == 1 else 100
            year = first.n // unit * unit + second.n
            if year <= first.n or first.n < 1000:
                raise Refused("dating-not-read")
            second.kind, second.n = "year", year

    def settle_one(self, side):
        if side.kind == "bare":
            if side.decade:
                raise Refused("dating-not-read")
            if not side.era:
                side.n = dates.Reader.by_pivot(self, side.n, side.end)
            side.kind = "year"
        if side.kind == "part" or side.kind == "century" and not side.named:
            raise Refused("dating-not-read")
        if side.kind == "century":
            if side.n < 1 or side.n * side.unit > (9999 if side.era >= 0 else 99999):
                raise Refused("date-impossible")
            (k, of), (until, parts) = side.part or ((1, 1), (1, 1))
            if side.unit * (k - 1) // of > side.unit * until // parts - 1:
                raise Refused("date-reversed")
        if side.kind == "year" and (not side.n or side.era >= 0 and side.n > 9999):
            raise Refused("date-impossible")

    def age(self):
        turn = next((i for i in range(self.end) if self.w.any_of(i, "turn", "turn-of-century")), None)
        if turn is not None:
            return self.turn(turn)
        lead, marks, i = self.lead(0)
        first, i = self.side(i)
        if not first.kind:
            raise Refused("dating-not-read", i)
        first.marks |= marks
        j, how = self.join(i)
        if not how and self.w.sign(i, ","):
            try:
                second, _ = self.side(i + 1)
            except Refused:
                second = Side(i)
            if first.kind == second.kind == "century" and second.n == first.n + 1 and first.part and first.part[1][0] == first.part[1][1] and (
                    second.part and second.part[0][0] == 1):
                j, how = i + 1, "to"
        if how:
            second, end = self.side(j)
            if second.kind:
                if end < self.end:
                    raise Refused("dating-not-read", end)
                second.marks |= marks
                if second.closing:
                    first.marks |= second.marks
                return self.joined(lead, first, second, "to" if lead in ("between", "from") else how)
        tail, end = self.tail(i)
        if tail:
            if lead not in ("", "from", "since"):
                raise Refused("dating-not-read", i)
            lead, i = tail, end
        if i < self.end:
            raise Refused("dating-not-read", i)
        self.settle(first, None)
        return self.alone(lead, first)

    def tail(self, i):
        w, tail, start = self.w, "", i
        while i < self.end:
            if w.any_of(i, "=+", "later", "plus", "late"):
                tail, j = "since", w.any_of(i, "=+", "later", "plus", "late")
            elif w.any_of(i, "earlier", "early"):
                tail, j = "until", w.any_of(i, "earlier", "early")
            else:
                j = w.any_of(i, "=,-?", "or", "and", "date-filler", "the")
            if not j:
                return "", start
            i = w.sign(j, ".") or j
        return tail, i

    def alone(self, lead, side):
        (low, first, _), (high, _, last) = side.points()
        whole = side.kind in ("century", "decade")
        mark = re.search("[~?%]*$", low)[0]
        if lead == "before":
            text = year_text(first - 1) + mark if whole else low
            return {"date": "../" + text, "latest": first - 1 if whole else last}
        if lead == "after":
            text = year_text(last + 1) + mark if whole else high
            return {"date": text + "/..", "earliest": last + 1 if whole else first}
        if lead == "until":
            return {"date": "../" + (year_text(last) + mark if whole else high), "latest": last}
        if lead in ("since", "from"):
            return {"date": (year_text(first) + mark if whole else low) + "/..", "earliest": first}
        return {"date": low if low == high else f"{low}/{high}", "earliest": first, "latest": last}

    def joined(self, lead, first, second, how):
        self.settle(first, second)
        if lead in ("before", "after", "until"):
            raise Refused("dating-ambiguous")
        low, high = first.points()[0], second.points()[1]
        if high[2] < low[1] or first.kind == second.kind == "day" and second.day.edtf() < first.day.edtf() and len(first.day.edtf()) == len(second.day.edtf()):
            raise Refused("date-reversed")
        date = low[0] if low[0] == high[0] else f"{low[0]}/{high[0]}"
        if how in ("or", "and") and "century" not in (first.kind, second.kind):
            brackets = "[]" if how == "or" else "{}"
            date = f"{brackets[0]}{low[0]},{second.points()[0][0]}{brackets[1]}"
        return {"date": date, "earliest": low[1], "latest": high[2]}

    def turn(self, at):
        w = self.w
        _, marks, i = self.lead(0)
        if i != at and not (w.is_a("era", i) == at):
            raise Refused("dating-not-read", i)
        i = w.any_of(at, "turn", "turn-of-century")
        i = self.some(w.sign(i, ".") or i, "or", "date-filler", "the", "since", "of", "from")
        if w.any_of(i, "century", "millennium") == self.end and i < self.end:
            raise Refused("dating-ambiguous")
        first, i = self.side(i)
        second, (j, how) = Side(i), self.join(i)
        if how in ("to", "and"):
            second, i = self.side(j)
        if i < self.end:
            raise Refused("dating-not-read", i)
        marks |= first.marks | second.marks
        if first.kind == second.kind == "century" and second.n == first.n + 1 and min(first.era, second.era) >= 0:
            border = first.n * 100
        elif first.kind == "year" and first.n % 100 == 0 and not second.kind:
            border = first.n
        elif first.kind == second.kind == "year" and first.n % 100 == 0 and second.n == first.n + 100:
            border = second.n
        else:
            raise Refused("dating-ambiguous")
        mark = "%" if len(marks) == 2 else "".join(marks)
        return {"date": f"{year_text(border - 9)}{mark}/{year_text(border + 10)}{mark}", "earliest": border - 9, "latest": border + 10}


YEAR = r"-?\d{4}|\d{3}X|\d{2}XX"


def span_of(text):
    """The first and the last year of a year of EDTF, with X for figures that are not known."""
    year = text.split("-")[0] if not text.startswith("-") else "-" + text[1:].split("-")[0]
    return tuple(sorted((int(year.replace("X", "0")), int(year.replace("X", "9")))))


def canonical(text):
    """A text that is EDTF of the usual forms: years, months and days, with marks, X, open ends."""
    text = re.sub(r"^([~?%])(\d{4}|\d{3}X|\d{2}XX)$", r"\2\1", text)
    if re.fullmatch(r"\d{2,3}x{1,2}", text) and len(text) == 4:
        text = text.upper()
    one = rf"(?:{YEAR})(?:-\d\d(?:-\d\d)?)?[~?%]?"
    found = re.fullmatch(rf"({one})|({one}|\.\.)/({one}|\.\.)", text)
    if not found or text == "../..":
        return None
    ends = [found[1]] * 2 if found[1] else [found[2], found[3]]
    out = {"date": text}
    for end in ends:
        month = re.match(rf"(?:{YEAR})-(\d\d)(?:-(\d\d))?", end)
        if month and not (1 <= int(month[1]) <= 12 or 21 <= int(month[1]) <= 41 and not month[2]):
            return None
        if month and month[2] and "X" not in end and not dates.valid(abs(span_of(end)[0]), int(month[1]), int(month[2])):
            return None
    if ends[0] != "..":
        out["earliest"] = span_of(ends[0].rstrip("~?%"))[0]
    if ends[1] != "..":
        out["latest"] = span_of(ends[1].rstrip("~?%"))[1]
    if "earliest" in out and "latest" in out and out["earliest"] > out["latest"]:
        return None
    return out


def read(text, vector, language):
    """The members of a dating, {"absent": reason}, or {"error": code}."""
    reason = absent(text, "date", language)
    if reason:
        return {"absent": reason}
    written, text = text.strip(), clean(text)
    if not text:
        return {"error": "date-empty"}
    try:
        found = canonical(written)
        if re.fullmatch(r"'\d\d", text) and vector.get("pivot") is None:
            raise Refused("year-two-digits")
        if not found:
            found = {}
            reader = Reader(text, language, vector.get("pivot"), vector.get("order"))
            event = reader.event()
            period = reader.period()
            reader.brackets()
            if event:
                found["event"] = event
            if period:
                found["period"] = period
            i = 0
            while period and i < reader.end:
                mark = reader.mark_at(i)
                j = mark[1] if mark else reader.w.any_of(i, "date-filler", "the", "=,.;")
                if not j:
                    break
                i = j
            if not (period and i == reader.end):
                found.update(reader.age())
        if vector.get("today") and found.get("earliest", 0) > int(vector["today"][:4]):
            raise Refused("date-future")
        return found
    except Refused as refused:
        return {"error": refused.code}
