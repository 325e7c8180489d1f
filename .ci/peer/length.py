"""A length, a weight or a count, by schema/grammar/length.peg and count.peg; the rules bear the names that they have there."""

import re
from fractions import Fraction

from words import ROOT, Refused, Words, clean, cut, phrase, value_of

FAMILIES = {"length": [["mm", "cm", "m", "decimetre", "kilometre"], ["in", "ft", "yd"]],
            "weight": [["mg", "g", "kg"], ["stone", "lb", "oz", "gr"], ["dwt", "ozt", "gr"]]}
NEXT = {"ft": "in", "m": "cm", "lb": "oz"}  # the smaller unit that may be left unsaid
GOLD = {8, 9, 10, 12, 14, 15, 18, *range(20, 25)}


def units():
    """The units of annex C of SPEC.md, stated ones and others: name to (dimension, size)."""
    stated, other = {}, {}
    text = (ROOT / "schema/spec/lookup/units.md").read_text(encoding="utf-8")
    for name, size, base in re.findall(r"^\| (.+?) \| ([\d./]+) (cm|g) \|$", text, re.M):
        name, short = name.strip("`"), re.sub(r" \(.*\)", "", name)
        (stated if "`" in short else other)[short.strip("`")] = ({"cm": "length", "g": "weight"}[base], Fraction(size))
    return stated, {**other, **stated}


STATED, UNITS = units()


class Measure:
    """A value with its step in its unit; unit is None where none is written."""

    def __init__(self, value, step, unit=None, sort="figures", places=0):
        self.value, self.step, self.unit, self.sort, self.places = value, step, unit, sort, places
        self.low = self.high = None  # the ends of a range written n/d
        self.compound = self.article = False


class Reader:
    def __init__(self, text, dimension, default, language, stated):
        self.dimension, self.default, self.language, self.stated = dimension, default, language, stated
        self.w = Words(cut(text), "measure", language, "length count")
        self.p = self.w.pieces
        self.end = len(self.p)
        self.minimal = self.maximal = self.about = self.between = False
        self.on_surface = False
        self.bounded = self.lead_unit = self.lead_preposition = None
        self.errors = []

    # --- small helpers
    def fail(self, code, at):
        self.errors.append((at, code))

    def number_here(self, i):
        return self.number(i, quiet=True) is not None

    def about_word(self, i):
        return self.w.any_of(i, "=~", "about", "unsure")

    # --- before the number
    def lead(self, i):
        while i < self.end:
            j = self.one_lead(i)
            if not j:
                break
            i = j
        w = self.w
        j = w.is_a("unit", i) if w.is_a("unit", i) and w.meaning("unit", i) in STATED and not w.is_a("article", i) else 0
        return (self.unit_first(i, j) or i) if j else i

    def one_lead(self, i):
        w, p = self.w, self.p
        for name in ("about", "unsure"):
            j = w.is_a(name, i)
            if j:
                self.about = True
                return w.sign(j, ".") or j
        if w.sign(i, "~±"):
            self.about = True
            return i + 1
        if self.plus_minus(i):
            self.about = True
            return self.plus_minus(i)
        j = self.little(i)
        if j:
            return j
        j = w.is_a("top", i)
        if j and self.number_here(j):
            self.maximal = True
            return j
        if w.sign(i, "<>"):
            self.set_bound("max" if p[i].text == "<" else "min")
            return w.sign(i + 1, "=") if w.sign(i + 1, "=") and p[i + 1].close else i + 1
        j = self.bound(i)
        if j:
            return j
        for first, second in (("up", "to"), ("to", "up")):
            j = w.is_a(first, i)
            j = j and w.is_a(second, j)
            if j:
                self.maximal = True
                return j
        for name in ("to", "until"):
            j = w.is_a(name, i)
            if j and (self.number_here(j) or self.about_word(j)):
                if not (w.is_a("article", i) or w.number_at(i) or w.is_a("at", i)):
                    self.maximal = True
                return j
        j = w.is_a("between", i)
        if j:
            self.between = True
            return j
        j = w.any_of(i, "nearly", "barely")
        if j:
            self.maximal = self.about = True
            return j
        j = w.is_a("article", i)
        if j and (w.is_a("just", j) or w.is_a("a-good", j)):
            return j
        j = w.is_a("vague-depth", i) if self.dimension == "length" else 0
        j = j and next((k for k in (j, w.sign(j, ",:")) if k and self.number_here(k)), 0)
        if j:
            return j
        j = w.is_a("just", i)
        if j and w.any_of(j, "over", "under", "more", "less", "about"):
            self.about = True
            return j
        if p[i].word == "in" and not w.is_a("unit", i) and i + 1 < self.end:
            return i + 1  # the preposition, where the language does not know the inch by this word
        j = w.any_of(i, "from", "found", "clearly", "at", "the", "measure-name")
        if j and j < self.end and not (w.is_a("article", i) or w.is_a("unit", i) or w.number_at(i)):
            return w.sign(j, ":.=") or j
        return 0

    def plus_minus(self, i):
        w = self.w
        j = w.sign(i, "+")
        if j:
            return w.sign(w.sign(j, "/") or j, "-") if self.p[i + 1:] and self.p[i].kind == "sign" else 0
        for first, last in (("plus", ("minus", "less")), ("more", ("less",))):
            j = w.is_a(first, i)
            j = j and w.is_a("or", j)
            j = j and w.any_of(j, *last)
            if j:
                return j
        return 0

    def little(self, i):
        w, p = self.w, self.p
        j = w.is_a("article", i)
        if j:
            if w.is_a("round-number", j) or w.is_a("measure-name", j) and not w.is_a("unit", j):
                return j
            if len(p[i].text) == 1 and j < self.end and p[j].kind in ("number", "fraction"):
                return j
        j = w.is_a("unit", i, "in")
        if j and (w.any_of(j, "about", "top", "=~", "the")):
            return j
        j = w.is_a("of", i)
        if j and self.number_here(j) and i and any(i in (w.is_a(n, k) for n in ("measure-name", "about")) for k in range(i)):
            return j
        j = w.is_a("around", i)
        if j:
            self.about = True
        return j

    def set_bound(self, which, opposite=False):
        if opposite:
            which = {"min": "max", "max": "min"}[which]
        self.bounded = which
        if which == "min":
            self.minimal = True
        else:
            self.maximal = True

    def bound(self, i, opposite=False):
        w = self.w
        j = w.is_a("not", i)
        if j and w.any_of(j, "more", "less", "over", "under"):
            return self.bound(j, not opposite)
        for name, which in (("more", "min"), ("less", "max")):
            j = w.is_a(name, i)
            if j:
                k = w.any_of(j, "measure-name", "vague-depth") or j
                k = w.is_a("than", k)
                if k:
                    self.set_bound(which, opposite)
                    return k if not w.is_a("article", k - 1) else k - 1  # d'un is than and one
        j = w.is_a("a-good", i)
        if j:
            if w.any_of(j, "over", "more"):
                after = self.bound(j)
                if after:
                    return after
            self.set_bound("min")
            self.about = True
            return j
        j = w.is_a("over", i)
        if j:
            self.set_bound("min", opposite)
            return w.sign(j, ".") or j
        j = w.is_a("under", i)
        if j:
            if w.is_a("under", i, "deeper") and self.dimension == "length" and not opposite:
                self.fail("bound-ambiguous", j)
                raise Refused("bound-ambiguous", j)
            self.set_bound("max", opposite)
            return w.sign(j, ".") or j
        j = w.is_a("at", i)
        k = w.any_of(j, "more", "less") if j else 0
        if k and w.is_a("than", k):
            return self.bound(j)
        for word, whole, which in (("least", "at-least", "min"), ("most", "at-most", "max")):
            j = w.is_a("at", i)
            k = (w.any_of(j, word, whole) if j else 0) or w.is_a(whole, i)
            if k:
                self.set_bound(which)
                return w.sign(k, ".") or k
        return 0

    def unit_first(self, i, j):
        k = self.w.sign(j, ":.=") or j
        if not self.number_here(k):
            return 0
        name = self.w.meaning("unit", i)
        if UNITS[name][0] != self.dimension:
            raise Refused("unit-of-another-kind", j)
        if name == "in" and self.default and self.default != "in":
            if not self.stated:
                raise Refused("language-ambiguous", k)
            if not any(("unit", "in") in lang.forms.get("in", {}).get(("in",), ()) for lang in self.w.own):
                return k
        self.lead_unit, self.lead_preposition = name, self.p[i].word == "in"
        return k

    # --- one measure
    def number(self, i, quiet=False):
        """(measure, end) or nothing."""
        held = list(self.errors)
        try:
            found = self.figures(i) or self.number_word(i)
        except Refused as refused:
            if not quiet:
                raise
            found = (None, i + 1) if refused.code else None
        if quiet:
            self.errors = held
        return found

    def figures(self, i):
        p, w = self.p, self.w
        if i >= self.end or p[i].kind not in ("number", "fraction"):
            return None
        if p[i].kind == "fraction":
            n, d = map(int, p[i].text.split("⁄"))
            j = self.of_a(i + 1)
            return Measure(Fraction(n, d), Fraction(1, d)), j
        try:
            value, step = value_of(p[i].text, self.w.thousands)
        except Refused as refused:
            raise Refused(refused.code, i) from None
        measure, j = Measure(value, step, places=len(p[i].text)), i + 1
        whole = p[i].text.isdigit()
        if j < self.end and p[j].kind == "fraction":
            n, d = map(int, p[j].text.split("⁄"))
            return self.added(measure, Fraction(n, d), Fraction(1, d)), j + 1
        if whole and w.sign(j, "/") and j + 1 < self.end and p[j + 1].text.isdigit():
            return self.slash(int(value), int(p[j + 1].text), measure, j + 2)
        proper = self.proper(j) if whole else None
        if proper:
            return self.added(measure, *proper[0]), proper[1]
        if whole and w.sign(j + 1, "/") and all(k < self.end and p[k].text.isdigit() for k in (j, j + 2)):
            raise Refused("fraction-ambiguous", j)
        if whole and w.sign(j, "-"):
            proper = self.proper(j + 1)
            if proper and value:
                if p[j].close and p[j + 1].close:
                    return self.added(measure, *proper[0]), proper[1]
                raise Refused("range-ambiguous", proper[1])
        return self.and_part(measure, j)

    def added(self, measure, value, step):
        measure.value, measure.step = measure.value + (value if measure.high is None else 0), step
        if measure.high is not None:
            measure.high += value
        return measure

    def slash(self, n, d, measure, j):
        if self.w.sign(j, "/"):
            raise Refused("fraction-ambiguous", j)
        if (d in (2, 4) and n < d) or (d in (8, 16, 32, 64) and n % 2 and 2 * n < d):
            measure.value, measure.step = Fraction(n, d), Fraction(1, d)
            return measure, self.of_a(j)
        if d not in (2, 3, 4, 8, 16, 32, 64) and n < d <= 2 * n:
            measure.low, measure.high, measure.value = Fraction(n), Fraction(d), Fraction(n)
            return measure, j
        raise Refused("fraction-ambiguous", j)

    def proper(self, i):
        p = self.p
        if i < self.end and p[i].kind == "fraction":
            n, d = map(int, p[i].text.split("⁄"))
            return (Fraction(n, d), Fraction(1, d)), i + 1
        if i + 2 < self.end and p[i].text.isdigit() and p[i + 1].text == "/" and p[i + 2].text.isdigit():
            n, d = int(p[i].text), int(p[i + 2].text)
            if d in (2, 3, 4, 5, 6, 8, 10, 12, 16, 32, 64) and 0 < n < d:
                return (Fraction(n, d), Fraction(1, d)), i + 3
        return None

    def and_part(self, measure, i):
        """a measure, with a half or the like behind it: 8 and a half."""
        j = self.w.any_of(i, "and", "=&")
        if j and measure.step.denominator == 1:
            part = self.part(j)
            if part and (not self.between or self.w.is_a("and", part[1])):
                return self.added(measure, *part[0]), part[1]
        return measure, i

    def part(self, i):
        w = self.w
        for name, d in (("half", 2), ("third", 3), ("quarter", 4), ("eighth", 8)):
            j = w.is_a(name, i) or w.is_a(name, w.is_a("article", i) or -1)
            if j:
                return (Fraction(1, d), Fraction(1, d)), j
        count = w.number_at(i)
        if count and count[0] == Fraction(3, 4):
            return (count[0], Fraction(1, 4)), count[1]
        if count:
            for name, d in (("third", 3), ("quarter", 4), ("eighth", 8)):
                if w.is_a(name, count[1]) and count[0] < d:
                    return (count[0] / d, Fraction(1, d)), w.is_a(name, count[1])
        return self.proper(i)

    def of_a(self, i):
        j = self.w.is_a("of", i) or i
        j = self.w.is_a("article", j) or j
        return j if j < self.end and (self.w.is_a("unit", j) or self.w.is_a("dozen", j)) else i

    def number_word(self, i):
        w = self.w
        found = self.word_value(i)
        if not found:
            return None
        measure, j = found
        return self.and_part(measure, j)

    def word_value(self, i):
        w = self.w
        for name, d in (("half", 2), ("quarter", 4)):
            j = w.is_a(name, i)
            if j:
                return Measure(Fraction(1, d), Fraction(1, d), sort="part"), self.of_a(j)
        j = w.is_a("round-number", i)
        if j:
            self.about = True
            return Measure(Fraction(w.meaning("round-number", i)), Fraction(1), sort="word"), self.of_a(j)
        count = w.number_at(i)
        article = w.is_a("article", i)
        j = count[1] if count else article
        if j:
            k = w.sign(j, "-") or j
            for name, d in (("half", 2), ("quarter", 4), ("eighth", 8), ("third", 3)):
                if w.is_a(name, k) and (not count or count[0] < d):
                    of = count[0] if count else Fraction(1)
                    return Measure(of / d, Fraction(1, d), sort="word" if count or article else "part"), self.of_a(w.is_a(name, k))
            after = w.number_at(j)
            if article and not count and after and after[0] >= 100:
                return Measure(after[0], Fraction(1), sort="word"), after[1]
        if count:
            return self.longer_number(*count)
        if article:
            return Measure(Fraction(1), Fraction(1), sort="article"), article
        j = w.is_a("surface", i)
        if j and self.dimension == "length" and (w.is_a("to", j) or w.sign(j, "-")):
            return Measure(Fraction(0), Fraction(1), sort="surface"), j
        return None

    def longer_number(self, value, j):
        """A number word with another behind <and>: hundred and five, vingt et un."""
        k = self.w.is_a("and", j)
        more = self.w.number_at(k) if k else None
        if more and (value % 100 == 0 and more[0] < 100 and value or self.w.is_a("and", j, "tens") and value % 10 == 0 and more[0] in (1, 11)):
            value, j = value + more[0], more[1]
        if value < 20 and j < self.end and any(self.p[j].word in lang.hundred for lang in self.w.own):
            value, j = value * 100, j + 1
            more = self.w.number_at(j)
            if more and more[0] < 100:
                value, j = value + more[0], more[1]
        k = self.w.sign(j, "-") or j
        more = self.w.number_at(k)
        if value in range(20, 100, 10) and more and more[0] < 10 and more[0].denominator == 1:
            value, j = value + more[0], more[1]
        step = Fraction(1) if value.denominator == 1 else Fraction(1, value.denominator)
        return Measure(value, step, sort="word"), j

    def unit(self, i, column=None, number=None):
        """(name, end) or nothing; None for the name of a unit that is none of ours is never given."""
        w, p = self.w, self.p
        behind = i + 1 < self.end and p[i].close and p[i + 1].kind == "word" and not (
            w.sign(i, "-") and (not p[i + 1].close or w.number_at(i + 1) or w.is_a("article", i + 1)))
        for start in (i, (w.sign(i, ".") and w.is_a("unit", i + 1) and i + 1 or w.sign(i, "-")) if behind else 0):
            if not (start or start == i) or start >= self.end:
                continue
            found = self.bare_unit(start, number)
            if found:
                name, j = found
                if UNITS[name][0] != self.dimension:
                    self.fail("unit-of-another-kind", j)
                    raise Refused("unit-of-another-kind", j)
                return name, j
        return None

    def bare_unit(self, i, number):
        w, p = self.w, self.p
        if p[i].text == "'" and w.sign(i + 1, "'") and p[i + 1].close:
            return "in", i + 2
        if p[i].text in "\"'":
            return {'"': "in", "'": "ft"}[p[i].text], i + 1
        j = w.is_a("of-troy", i)
        for short, name in (("oz", "ozt"), ("lb", "troy pound")):
            if j and w.is_a("unit", j, short):
                return name, w.is_a("unit", j)
        for of, size in (("of-avoirdupois", "avoirdupois dram"), ("of-apothecary", "apothecaries' dram")):
            j = w.is_a(of, i)
            if j and w.is_a("unit-dram", j):
                return size, w.is_a("unit-dram", j)
        j = w.is_a("unit", i)
        if j:
            return self.named_unit(w.meaning("unit", i), j)
        j = w.is_a("of-country", i) or i
        j = w.is_a("of-survey", j)
        if j and w.is_a("unit", j, "ft"):
            return "US survey foot", w.is_a("unit", j)
        j = w.is_a("of-metric", i)
        if j and w.is_a("unit-carat", j):
            return "metric carat", w.is_a("unit-carat", j)
        if j and w.is_a("unit", j, "tonne"):
            return "tonne", w.is_a("unit", j)
        return self.doubtful_unit(i, number)

    def named_unit(self, name, j):
        w = self.w
        k = w.sign(j, ".") or j
        if name == "oz" and w.is_a("of-troy", k):
            return "ozt", w.is_a("of-troy", k)
        if name == "lb" and w.is_a("of-troy", k):
            return "troy pound", w.is_a("of-troy", k)
        if name == "thou":
            name = "thou"
        k = w.any_of(k, "of-avoirdupois", "of-apothecary", "of-metric") or j
        return name, w.sign(k, ".") if w.sign(k, ".") and k == j else k

    def doubtful_unit(self, i, number):
        w, code = self.w, "unit-ambiguous"
        j = w.is_a("unit-gr", i)
        if j:
            if self.dimension == "length":
                raise Refused("unit-of-another-kind", j)
            if self.default in ("gr", "g"):
                return self.default, j
            k = w.sign(j, "(")
            for name in ("gr", "g"):
                if k and w.is_a("unit", k, name) and w.sign(k + 1, ")"):
                    return name, k + 2
            if self.after_pennyweight:
                return "gr", j
            raise Refused(code, j)
        j = w.is_a("unit-carat", i)
        if j:
            k = w.is_a("of-metric", j)
            if k:
                return "metric carat", k
            if number is not None and number in GOLD:
                raise Refused(code, j)
            return "metric carat", j
        for name, plain in (("unit-dram", None), ("unit-line", None), ("unit-mil", None)):
            j = w.is_a(name, i)
            if j:
                return self.explained(name, j)
        j = w.is_a("unit-refused", i)
        if j:
            raise Refused("unit-not-listed", j)
        return None

    after_pennyweight = False

    def explained(self, name, j):
        w = self.w
        for of, size in (("of-avoirdupois", "avoirdupois dram"), ("of-apothecary", "apothecaries' dram")):
            if name == "unit-dram" and w.is_a(of, j):
                return size, w.is_a(of, j)
        words = [piece.word for piece in self.p[j:j + 6]]
        if name == "unit-line" and words[:4] == ["(", "1", "/", "12"] or name == "unit-line" and words[:4] == ["(", "1", "/", "40"]:
            return f"line of 1/{words[3]} in", j + 6
        if name == "unit-mil" and words[:3] == ["(", "thou", ")"]:
            return "thou", j + 3
        raise Refused("unit-ambiguous", j)

    def measure(self, i):
        """(measure, end) or nothing: a number, its unit, and smaller parts behind it."""
        w = self.w
        found = self.number(i)
        if not found:
            j = w.is_a("unit", i)
            k = w.is_a("and", j) if j and w.meaning("unit", i) in ("ft", "in", "m") else 0
            half = w.is_a("half", k) or w.is_a("half", w.is_a("article", k) or -1) if k else 0
            return (Measure(Fraction(3, 2), Fraction(1, 2), w.meaning("unit", i), "word"), half) if half else None  # foot and a half
        start, (measure, i) = i, found
        self.after_pennyweight = False
        unit = self.unit(i, number=measure.value)
        if not unit:
            return measure, i
        article = bool(w.is_a("article", start)) and w.is_a("article", start) == i
        measure.unit, i = unit
        measure, i = self.smaller_parts(measure, i)
        measure.article = article and not measure.compound
        return measure, i

    def ish(self, i):
        j = self.w.is_a("ish", self.w.sign(i, "-") or i)
        if j:
            self.about = True
        return j

    def smaller_parts(self, measure, i):
        w, last = self.w, measure.unit
        while True:
            j = w.any_of(i, "and", "=,&") or (w.sign(i, "-") if i + 1 < self.end and self.p[i].close and self.p[i + 1].close else 0)
            start = j or i
            joined = bool(j) and w.is_a("and", i) or w.sign(i, "&")
            if joined and not self.between and measure.step.denominator == 1:
                part = self.part(start)
                if part and not self.unit_after(part[1]):
                    (value, step), i = part
                    return self.added(measure, value, step), i
            if w.sign(i, "-") and last != "ft" or self.between and joined:
                return measure, i
            if measure.value.denominator != 1 or measure.step.denominator != 1:
                if j or not self.number_here(i):
                    return measure, i
                raise Refused("unit-order", i)
            held = (list(self.errors), self.about)
            found = self.number(start)
            if not found:
                return measure, i
            part, k = found
            if part.sort == "part":
                return measure, i
            self.after_pennyweight = last == "dwt"
            unit = self.unit(k, number=part.value)
            self.after_pennyweight = False
            if unit:
                name, k = unit
            else:
                name = NEXT.get(last)
                if j and not w.sign(i, "-") or name is None or last == "m" and part.places != 2 or part.sort in ("article", "part"):
                    self.errors, self.about = held
                    return measure, i
            if last == "oz" and name == "dwt":
                raise Refused("unit-ambiguous", k)  # the pennyweight is of troy ounces
            if not any(last in family and name in family for family in FAMILIES[self.dimension]):
                self.errors, self.about = held
                return measure, i
            larger, smaller = UNITS[last][1], UNITS[name][1]
            if smaller >= larger or part.value * smaller >= larger:
                if j:
                    return measure, i
                raise Refused("unit-order", k)
            scale = UNITS[measure.unit][1] / smaller
            measure.value, measure.step = measure.value * scale + part.value, part.step
            measure.unit = last = name
            measure.compound, i = True, k

    def unit_after(self, i):
        return i < self.end and (self.w.is_a("unit", i) or self.p[i].text in "\"'")

    # --- a second measure, and what stands behind
    def text(self):
        w = self.w
        i = self.lead(0)
        if w.sign(i, "-"):
            if i + 1 < self.end and self.p[i + 1].kind in ("number", "fraction") and i == 0:
                raise Refused("negative", i + 1)
        found, start = self.measure(i), i
        if not found:
            raise Refused("not-understood", i)
        self.first, i = found
        if self.lead_unit and self.first.unit not in (None, self.lead_unit) and not self.lead_preposition:
            raise Refused("unit-order", i)
        self.weak = self.first.sort in ("article", "part") or bool(w.is_a("article", start))
        self.second = self.tolerance = None
        if self.first.low is not None:
            self.second = Measure(self.first.high, self.first.step, self.first.unit)
        else:
            i = self.join(i)
        if self.between and self.second is None:
            raise Refused("not-understood", i)
        while i < self.end:
            j = self.trail(i)
            if not j:
                raise Refused("not-understood", i)
            i = j
        return self.result()

    def join(self, i):
        w = self.w
        j = w.sign(i, "±") or self.plus_minus(i)
        if j and j == self.end:
            self.about = True
            return j
        if j:
            found = self.measure(j)
            if found and found[0].low is None:
                self.tolerance, i = found
                return i
        if self.bounded == "min" or self.minimal:
            j = w.any_of(i, "and", "=,&") or i
            held = self.minimal, self.maximal, self.bounded
            k = w.sign(j, "<") or self.bound(j)
            found = self.measure(k) if k and (w.sign(j, "<") or self.bounded == "max") else None
            if found and not self.first_is_bounded_twice(held):
                self.second, i = found
                self.minimal = self.maximal = False
                return i
            self.minimal, self.maximal, self.bounded = held
        j = w.sign(i, "/=")
        if j:
            k = self.about_word(j) or j
            echo = self.echo(k)
            if echo:
                return echo
        return self.range(i)

    @staticmethod
    def first_is_bounded_twice(held):
        return held[1]

    def range(self, i):
        w = self.w
        j = w.any_of(i, "=-/", "to", "until", "or") or self.dots(i)
        if not j and self.between:
            j = w.is_a("and", i)
        if not j:
            return i
        j = w.any_of(j, "up", "at") if w.any_of(j, "up", "at") and not w.number_at(j) and w.is_a("to", i) else j
        k = self.about_word(j)
        if k:
            self.about, j = True, k
        try:
            found = self.measure(j)
        except Refused as refused:
            raise refused
        if not found:
            return i
        second, k = found
        if w.sign(i, "/") and self.first.unit and not second.unit or second.low is not None:
            return i
        if self.first.compound and not second.compound and second.unit == self.first.unit:
            raise Refused("range-ambiguous", k)
        if second.sort in ("article", "part") and not second.unit:
            return i
        if second.compound and not self.first.unit:
            raise Refused("range-ambiguous", k)
        if w.is_a("or", i) and self.first.unit and second.unit and not any({self.first.unit, second.unit} <= {*family} for family in FAMILIES[self.dimension]):
            return self.echo(j)
        if w.is_a("or", i) and self.first.article and not second.unit and second.value > 2:
            second.unit, self.first, self.about = self.first.unit, second, True  # a centimetre or ten
            return k
        self.second = second
        return k

    def dots(self, i):
        j = i
        while self.w.sign(j, ".") and (j == i or self.p[j - 1].close):
            j += 1
        return j if j > i + 1 else 0

    def echo(self, i, in_brackets=False):
        """The same measure once more, in another unit; in brackets also in the same."""
        found = self.measure(i)
        if not found:
            return 0
        low, j = found
        high = low
        k = self.w.any_of(j, "=-", "to", "or")
        if k and self.measure(k):
            high, j = self.measure(k)
        unit = high.unit or low.unit
        first = self.first.unit or (self.second and self.second.unit) or self.lead_unit or self.default
        if not unit or not first or unit == first and not in_brackets:
            return 0
        if self.w.sign(i - 1, "/") and any(unit in family and first in family for family in FAMILIES[self.dimension]):
            raise Refused("several-measures", j)
        if first == "oz" and self.is_troy(low.value * UNITS[unit][1], low.step * UNITS[unit][1]):
            raise Refused("unit-ambiguous", j)
        ends = (self.first, self.second or self.first)
        for mine, other in zip(ends, (low, high)):
            a, b = UNITS[first][1], UNITS[unit][1]
            if abs(mine.value * a - other.value * b) > max(mine.step * a, other.step * b) / 2:
                raise Refused("echo-disagrees", j)
        return j

    def is_troy(self, echo, step):
        """Whether the echo of so many ounces says that they are troy ounces."""
        near, other = (abs(self.first.value * UNITS[name][1] - echo) for name in ("ozt", "oz"))
        return near <= step / 2 < other

    def trail(self, i):
        w, p = self.w, self.p
        if w.sign(i, "+") and not self.plus_minus(i) and not (i + 1 < self.end and p[i + 1].kind == "number"):
            self.minimal = True
            return self.late_unit(i + 1)
        j = w.is_a("plus", i)
        if j and not w.is_a("or", j):
            self.minimal = True
            return self.late_unit(j)
        j = w.any_of(i, "more", "plus")
        j = j and w.is_a("or", j)
        j = j and w.any_of(j, "less", "minus")
        if j:
            self.about = True
            return self.late_unit(j)
        j = self.ish(i) or w.any_of(i, "about", "unsure")
        if j:
            self.about = True
            return self.late_unit(j)
        j = w.any_of(i, "or", "and")
        if j:
            k = w.is_a("or-so", j)
            if k and w.is_a("or", i):
                self.about = True
                return self.late_unit(k)
            k = w.any_of(j, "more", "over", "at-least", "up")
            if k:
                self.minimal = True
                return k
            k = w.any_of(j, "less", "under", "at-most")
            if k:
                self.maximal = True
                return k
        j = w.sign(i, "-") or i
        k = self.below_surface(j)
        if k:
            return k
        j = w.is_a("at", i) or i
        k = w.is_a("at-most", i)
        if k and self.second is not None:
            return w.sign(k, ".") or k
        for word, whole in (("least", "at-least"), ("most", "at-most")):
            k = w.is_a(whole, i) or w.is_a(whole, j) or (w.is_a(word, j) if j > i else 0)
            if k:
                self.set_bound({"least": "min", "most": "max"}[word])
                return k
        j = w.sign(i, ",")
        if j and w.any_of(j, "about", "unsure", "vague-depth", "or", "more", "plus", "at-least", "at-most", "measure-name"):
            return j
        j = w.is_a("vague-depth", i) if self.dimension == "length" else 0
        if j:
            return j
        j = w.is_a("unit", i, "in") or w.is_a("of", i)
        k = w.is_a("measure-name", i) or (w.is_a("measure-name", j) if j else 0)
        if k:
            return k
        return self.place(i) or self.closing(i)

    def late_unit(self, i):
        unit = self.unit(i)
        if unit and self.lead_unit not in (None, unit[0]):
            raise Refused("unit-order", unit[1])
        if unit and unit[0] in STATED and not (self.second or self.first).unit:
            (self.second or self.first).unit = unit[0]
            return unit[1]
        return i

    def below_surface(self, i):
        w, start = self.w, i
        if w.is_a("below-surface", i):
            i = w.is_a("below-surface", i)
            while i < self.end and (w.any_of(i, "below-surface", "the", "=.")) and not (w.is_a("surface", i) and not w.any_of(i, "below-surface", "the")):
                i = w.any_of(i, "below-surface", "the", "=.")
        elif not w.sign(i - 1, "-"):
            return 0
        j = w.is_a("surface", i)
        while j and not w.sign(i - 1, "-") and w.is_a("surface", j):
            j = w.is_a("surface", j)
        return j

    def place(self, i):
        w, layers, others = self.w, 0, 0
        j = start = w.sign(i, ",-:") or i
        if self.dimension != "length":
            return 0
        at = start < self.end and (w.is_a("at", start) and (not w.language or w.known(start)) or w.is_a("unit", start, "in"))
        while j < self.end:
            k = w.is_a("layer", j) or w.any_of(j, "the", "article", "of", "from", "at") or w.is_a("unit", j, "in")
            layers += bool(w.is_a("layer", j))
            if not k and at:
                k = w.any_of(j, "surface", "below-surface") or (j + 1 if self.p[j].kind == "word" and not w.found[j] and not w.number_at(j) else 0)
                others += 1
            if not k:
                return 0
            j = k
        return j if layers or others else 0

    def closing(self, i):
        w = self.w
        if w.sign(i, "?"):
            self.about = True
            return i + 1
        if w.sign(i, "("):
            return self.brackets(i + 1)
        if w.sign(i, ".,:") and (i + 1 == self.end or w.sign(i + 1, ".") and not (self.w.sign(i, ".") and self.p[i + 1].close)):
            return i + 1
        return 0

    def brackets(self, i):
        w = self.w
        j = w.sign(i, "±") or self.plus_minus(i)
        if j:
            found = self.measure(j)
            if not found:
                return 0
            self.tolerance, j = found
        elif (w.sign(i, "?") or self.about_word(i)) and not self.number_here(self.about_word(i) or i + 1):
            self.about, j = True, w.sign(i, "?") or self.about_word(i)
            j = w.sign(j, ".") or j
        elif w.is_a("surface", i) and w.sign(w.is_a("surface", i), ")") and not self.first.value and not self.second:
            self.on_surface, j = True, w.is_a("surface", i)
        else:
            j = w.is_a("measure-name", i)
            if not j and not self.number_here(i) and i < self.end and self.unit(i):
                found, held = self.unit(i), (self.second or self.first).unit
                if self.p[i].kind != "word":
                    return 0
                late = found[1] if found[0] == held else self.late_unit(i)
                return self.closed(late) if late > i else 0
            j = j or self.echo(self.about_word(i) or i, in_brackets=True)
        return self.closed(j) if j else 0

    def closed(self, i):
        return self.w.sign(i, ")")

    # --- the value
    def result(self):
        first, second, tolerance = self.first, self.second, self.tolerance
        if self.minimal and self.maximal:
            raise Refused("not-understood", self.end)
        if second and not first.unit and self.lead_unit and second.unit not in (None, self.lead_unit):
            raise Refused("unit-order", 0)
        given = first.unit or self.lead_unit or (second and second.unit) or (tolerance and not tolerance.compound and tolerance.unit)
        if not given and not second and self.weak:
            raise Refused("not-understood", 0)
        given = given or self.default
        if first.sort == "surface" and second and second.unit:
            first.unit = second.unit
        if not given and self.on_surface:
            return {"min": 0, "max": 0, "unit": "cm", "basis": "surface"}
        if not given:
            raise Refused("unit-missing", 0)
        for measure in (first, second, tolerance):
            if measure and not measure.unit:
                measure.unit = (self.lead_unit or second.unit if measure is first and second else None) or (first.unit if measure is not first else None) or given
        low = high = first.value * UNITS[first.unit][1]
        step = first.step * UNITS[first.unit][1]
        out = {}
        if tolerance:
            spread = tolerance.value * UNITS[tolerance.unit][1]
            out["best"] = low
            step = max(step, tolerance.step * UNITS[tolerance.unit][1])
            low, high = max(low - spread, Fraction(0)), high + spread
        if second:
            high, step = second.value * UNITS[second.unit][1], max(step, second.step * UNITS[second.unit][1])
            if first.sort == "surface":
                step = second.step * UNITS[second.unit][1]
            if high < low:
                if first.unit != second.unit:
                    raise Refused("range-ambiguous", self.end)
                low, high = high, low
        if not self.maximal:
            out["min"] = low
        if not self.minimal:
            out["max"] = high
        if max(low, high) > 9223372036:
            raise Refused("too-large", self.end)
        out = {name: float(round(value, 9)) for name, value in out.items()}
        out["unit"] = {"length": "cm", "weight": "g"}[self.dimension]
        said = second.unit if second and UNITS[second.unit][1] < UNITS[first.unit][1] else first.unit
        if said in STATED:
            out["said"] = said
        out["resolution"] = float(round(step, 9))
        if self.about:
            out["approximate"] = True
        if self.on_surface:
            out["basis"] = "surface"
        return out


class Count(Reader):
    """How many: the rules of length.peg without units, and those of count.peg."""

    def unit(self, i, column=None, number=None):
        return None

    def unit_first(self, i, j):
        return 0

    def late_unit(self, i):
        return i

    def piece(self, i):
        while True:
            j = self.w.any_of(i, "piece", "times")
            j = (j if self.dots(j) else self.w.sign(j, ".") or j) if j else self.w.sign(i, "*")
            if not j:
                return i
            i = j

    def measure(self, i):
        """pieces: a number, and what counts the pieces."""
        w, start = self.w, i
        if w.any_of(i, "dozen", "pair") and not w.number_at(i):
            measure = Measure(Fraction(1), Fraction(1), sort="word")
        else:
            found = self.number(i)
            if not found:
                return None
            measure, i = found
            if measure.sort == "article" and not w.any_of(i, "dozen", "pair", "piece"):
                return None
        for name, times, step in (("dozen", 12, 12), ("pair", 2, 1)):
            j = w.is_a(name, i)
            if j:
                measure.value, measure.step, i = measure.value * times, measure.step * step, j
                break
        measure.article = bool(w.is_a("article", start)) and bool(w.is_a("piece", w.is_a("article", start)))
        return measure, self.piece(i)

    def vague(self):
        w, i = self.w, 0
        while w.any_of(i, "article", "about") and not w.is_a("vague-amount", i):
            i = w.any_of(i, "article", "about")
        i = w.is_a("vague-amount", i)
        while i and i < self.end and w.any_of(i, "of", "piece"):
            i = w.any_of(i, "of", "piece")
        return i == self.end

    def text(self):
        if self.vague():
            raise Refused("vague")
        w, i = self.w, self.lead(0)
        j = self.piece(i)
        i = self.lead((w.sign(j, ":;!") if j else 0) or j)
        if w.sign(i, "-") and i == 0 and self.end > 1 and self.p[1].kind in ("number", "fraction"):
            raise Refused("negative", 1)
        found = self.measure(i)
        if not found:
            raise Refused("not-understood", i)
        self.first, i = found
        self.second = self.tolerance = None
        if self.first.low is not None:
            self.second = Measure(self.first.high, self.first.step)
        else:
            i = self.join(i)
        if self.between and self.second is None:
            raise Refused("not-understood", i)
        while i < self.end:
            j = self.trail(i) or self.piece(i)
            if j in (0, i):
                raise Refused("not-understood", i)
            i = j
        return self.result()

    def join(self, i):
        w = self.w
        j = w.sign(i, "±")
        if j:
            found = self.measure(j)
            if not found:
                raise Refused("not-understood", j)
            self.tolerance, i = found
            return i
        if w.is_a("or", i) and w.is_a("of", i):
            raise Refused("not-understood", i)
        j = w.any_of(i, "=-", "to", "until", "or") or self.dots(i) or (w.is_a("and", i) if self.between else 0)
        found = self.measure(j) if j else None
        if not found:
            return i
        if w.is_a("or", i) and self.first.article and found[0].value > 2:
            self.first, self.about = found[0], True
        else:
            self.second = found[0]
        return found[1]

    def result(self):
        first, second, tolerance = self.first, self.second, self.tolerance
        if self.minimal and self.maximal:
            raise Refused("not-understood", self.end)
        low, high = first.value, (second or first).value
        step = max(measure.step for measure in (first, second, tolerance) if measure)
        out = {}
        if tolerance:
            out["best"], low, high = low, max(low - tolerance.value, Fraction(0)), high + tolerance.value
        low, high = min(low, high), max(low, high)
        if not self.maximal and low.denominator != 1 or not self.minimal and high.denominator != 1:
            raise Refused("not-whole", self.end)
        if high > 9223372036:
            raise Refused("too-large", self.end)
        out |= {} if self.maximal else {"min": low}
        out |= {} if self.minimal else {"max": high}
        out = {name: float(value) for name, value in out.items()} | {"resolution": float(round(step, 9))}
        return out | ({"approximate": True} if self.about else {})


def refusal(text, words, default, dimension):
    """The code of a text that nothing reads, of the list at the end of the grammar."""
    p, end = words.pieces, len(words.pieces)
    if "\ufffd" in text or re.search(r"[ÂÃ][\x80-\xbf½¼¾]|â€", text):
        return "mojibake"
    if is_a_day(text, words.language):
        return "spreadsheet-date"
    figures = any(piece.kind in ("number", "fraction") for piece in p) or any(words.number_at(i) and not words.is_a("article", i) for i in range(end))
    number = figures
    has = lambda name: any(words.is_a(name, i) for i in range(end))
    if re.search(r"(^|\s)-\s?\d", text) and text.startswith("-"):
        return "negative"
    if has("layer") and not number and dimension == "length":
        return "layer-not-measure"
    if (has("vague-depth") or has("vague-amount")) and not number:
        return "vague"
    numbers = [i for i in range(end) if p[i].kind == "number"]
    if any(words.any_of(i + 1, "times", "=*,") and i + 2 in numbers for i in numbers):
        return "several-measures"
    if re.search(r"(^|\D)[1-9]\d{0,2} \d{3}(\D|$)", text):
        return "number-ambiguous"
    return "not-understood"


def is_a_day(text, language):
    """Whether a text is a day and a month, with or without a year, and nothing else."""
    if re.fullmatch(r"\d{4}-\d{1,2}-\d{1,2}([ T]\d\d:\d\d(:\d\d)?)?|\d{1,2}([./-])\d{1,2}\3\d{2,4}|(19|20)\d\d-(0?[1-9]|1[0-2])", text):
        return True
    w = Words(cut(text, decimals=False), "date", language, "date")
    p = [i for i in range(len(w.pieces)) if w.pieces[i].kind != "sign"]
    if len(p) == 2 and w.is_a("month", p[0]) == p[0] + 1 and w.pieces[p[1]].kind == "number" and len(w.pieces[p[1]].text) in (2, 4):
        return not any(x.text not in "-./ ," for x in w.pieces if x.kind == "sign")  # Sep-24
    return 2 <= len(p) <= 3 and w.pieces[p[0]].kind == "number" and len(w.pieces[p[0]].text) < 3 and bool(w.is_a("month", p[1])) and (
        len(p) == 2 or w.pieces[p[2]].kind == "number") and not any(x.text not in "-./ ," for x in w.pieces if x.kind == "sign")


def read(text, dimension, default=None, language=None, stated=False):
    """The members of a quantity, {"absent": reason}, or {"error": code}."""
    if len(text.encode()) > 240:
        return {"error": "too-long"}
    reason = phrase(text, "measure", language)
    if reason == "surface" and dimension == "length":
        return {"min": 0, "max": 0, "unit": "cm", "basis": "surface"}
    if reason and reason != "surface":
        return {"absent": reason}
    raw, text = text, clean(text)
    if not text:
        return {"error": "empty"}
    reader = (Count if dimension == "count" else Reader)(text, dimension, default, language, stated)
    reader.w.language = language
    if is_a_day(text, language):
        return {"error": "spreadsheet-date"}
    try:
        return reader.text()
    except Refused as refused:
        code = refused.code
        if code == "not-understood":
            code = refusal(text, reader.w, default, dimension)
        return {"error": code}
