"""Words and pieces: schema/lexicon read as its schema describes it, texts cut as schema/grammar/README.md says."""

import json
import re
import unicodedata
from fractions import Fraction
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
UNACCENTED = {"ä": "ae", "ö": "oe", "ü": "ue", "ß": "ss", "å": "aa", "ø": "oe", "æ": "ae"}
SIGNS = {
    **dict.fromkeys("″“”„‟‶〃〞〝ʺˮ˝«»", '"'), **dict.fromkeys("′‘’‚‛‵´ʹʼˊˋ", "'"), **dict.fromkeys("‐‑‒–—―−", "-"),
    **dict.fromkeys("≈∼≃≅≒〜", "~"), **dict.fromkeys("≤≦⩽", "<"), **dict.fromkeys("≥≧⩾", ">"), "⌀": "ø", "×": "*", "∕": "/",
    "㎜": "mm", "㎝": "cm", "㎞": "km", "㎎": "mg", "㎏": "kg",
}


LETTERS = r"[^\W\d_]+"
WORD = rf"{LETTERS}(?:'{LETTERS})*"


class Refused(Exception):
    """A text is refused; code says why, at says how far it was read."""

    def __init__(self, code, at=0):
        super().__init__(code)
        self.code, self.at = code, at


def fold(word):
    return unicodedata.normalize("NFC", word.lower())


def bare(word):
    """The word without accents, and with letters of two written as two."""
    flat = "".join(c for c in unicodedata.normalize("NFD", word) if not unicodedata.combining(c))
    flat = flat.translate(str.maketrans({"ø": "o", "ł": "l", "đ": "d", "ß": "ss", "æ": "ae", "œ": "oe"}))
    wide = "".join(UNACCENTED.get(c, c) for c in word)
    return {flat, "".join(c for c in unicodedata.normalize("NFD", wide) if not unicodedata.combining(c))} - {word}


def clean(text):
    """The signs of a text brought to one spelling."""
    out = []
    for c in unicodedata.normalize("NFC", text):
        if c in SIGNS:
            out.append(SIGNS[c])
        elif c.isspace():
            out.append(" ")
        elif unicodedata.category(c) == "Cf":
            continue
        elif 0xFF01 <= ord(c) <= 0xFF5E:
            out.append(chr(ord(c) - 0xFEE0))
        else:
            out.append(c)
    text = re.sub(" +", " ", "".join(out)).strip()
    for opening, closing in ("()", "[]", '""', "''"):
        inner = text[1:-1]
        if len(text) > 2 and text[0] == opening and text[-1] == closing and not set(inner) & set("()[]\"'"):
            return inner.strip()
    return text


class Piece:
    """A word, a number, a fraction or a sign; close says that nothing stands before it."""

    def __init__(self, kind, text, close):
        self.kind, self.text, self.close, self.word = kind, text, close, fold(text)


def cut(text, decimals=True):
    """The pieces of a cleaned text. Without decimals a number is figures alone, and the apostrophe a sign, as in dates."""
    number = r"\d+(?:[.,]\d+)*|(?<![^\W\d_])(?<![.,])[.,]\d+" if decimals else r"\d+"
    word = WORD if decimals else LETTERS
    pattern = re.compile(rf"(?P<number>{number})|(?P<word>{word})|(?P<sign>\S)")
    pieces, end = [], 0
    text = re.sub(r"([⁰¹²³⁴-⁹]+)⁄([₀-₉]+)", lambda m: unicodedata.normalize("NFKC", m[0]), text)
    for m in re.finditer(r"(?P<over>\d+⁄\d+)|(?P<vulgar>[¼-¾⅐-⅞])|" + pattern.pattern, text):
        kind, piece = m.lastgroup, m[0]
        if kind == "vulgar":
            kind, piece = "fraction", unicodedata.normalize("NFKC", piece)
        elif kind == "over":
            kind = "fraction"
        pieces.append(Piece(kind, piece, m.start() == end and m.start() > 0))
        end = m.end()
    return pieces


def value_of(figures, thousands=""):
    """A number and its step, of figures with a point or a comma; thousands is the sign that parts them where a language is stated."""
    digits = re.sub(r"\D", "", figures)
    if len(digits) > 15:
        near = round(Fraction(figures.replace(",", ".")), 6) if re.fullmatch(r"\d*[.,]\d+", figures) else None
        if near is None or abs(near - Fraction(figures.replace(",", "."))) > near / 10**14:
            raise Refused("number-too-long")
        figures = f"{float(near):f}".rstrip("0").rstrip(".")
    if "," in figures and "." in figures:
        thousands = figures[min(figures.index(","), figures.index("."))]
        figures = figures.replace(thousands, "")
    elif re.fullmatch(r"[1-9]\d{0,2},\d{3}", figures) or thousands == "." and re.fullmatch(r"[1-9]\d{0,2}\.\d{3}", figures):
        raise Refused("number-ambiguous")
    elif len(re.findall("[.,]", figures)) > 1:
        raise Refused("number-ambiguous" if figures.count(",") > 1 or thousands == "." else "not-understood")
    whole, _, places = figures.replace(",", ".").partition(".")
    return Fraction(int(whole or 0)) + Fraction(int(places or 0), 10 ** len(places)), Fraction(1, 10 ** len(places))


class Language:
    """One file of the lexicon: the forms of its words, and its numbers."""

    def __init__(self, code, subject):
        data = json.loads((ROOT / f"schema/lexicon/{code}.json").read_text(encoding="utf-8"))
        self.code, self.forms, self.spelt, self.numbers = code, {}, {}, {}
        self.word = LETTERS if subject == "date" else WORD
        for name, entries in data["words"].items():
            for entry in entries:
                if subject in entry.get("in", subject).split():
                    for form in entry["forms"]:
                        self.add(name, entry.get("is"), form)
        spelt = {}
        for value, spelling in number_words(data["numbers"]):
            spelling = re.sub(r"[^\w]", "", fold(spelling))
            self.numbers.setdefault(spelling, value)
            if not spelling.isascii():
                spelt.update(dict.fromkeys(bare(spelling), value))
        self.numbers = {**spelt, **self.numbers}
        self.usual = data["dayOrder"]
        self.hundred, self.thousands = set(data["numbers"]["hundred"]), data["numbers"]["thousands"]
        joints = [*data["numbers"]["joints"], *data["numbers"]["andHalf"], *data["numbers"]["hundred"], "et", "vingts"]
        self.parts = {*self.numbers, *(re.sub(r"[^\w]", "", fold(joint)) for joint in joints)}

    def add(self, name, meaning, form):
        words = tuple(re.findall(self.word, fold(form)))
        self.forms.setdefault(words[0], {}).setdefault(words, []).append((name, meaning))
        for i, word in enumerate(words):
            for other in bare(word):
                self.spelt.setdefault(other, set()).add(word)


def number_words(numbers):
    """Numbers from 0 to 999 with their spellings, joined as the language joins them."""
    below = {n: list(forms) for n, forms in enumerate(numbers["small"])}
    for ten, forms in enumerate(numbers["tens"], 2):
        base = ten * 10
        below.setdefault(base, []).extend(forms)
        for unit in range(1, 20 if numbers["twenties"] and ten in (6, 8) else 10):
            for a in forms:
                for b in numbers["small"][unit]:
                    for joint in {*numbers["joints"], *(["et"] if numbers["twenties"] and unit in (1, 11) else [])}:
                        pair = (a, joint, b) if numbers["order"] == "ten-unit" else (b, joint, a)
                        below.setdefault(base + unit, []).append("".join(pair))
        if numbers["twenties"] and ten == 2:  # four twenties
            for form in forms:
                below.setdefault(80, []).append(numbers["small"][4][0] + form)
                for unit in range(1, 20):
                    below.setdefault(80 + unit, []).extend(numbers["small"][4][0] + form + b for b in numbers["small"][unit])
    for n, spellings in below.items():
        yield from ((Fraction(n), s) for s in spellings)
        yield from ((n + Fraction(1, 2), s + half) for s in spellings for half in numbers["andHalf"])
    for n in range(1, 10):
        hundreds = list(numbers.get("hundreds", [[]] * 9)[n - 1])
        hundreds += [u + h for h in numbers["hundred"] for u in numbers["small"][n] + ([""] if n == 1 else [])]
        for hundred in hundreds:
            yield Fraction(n * 100), hundred
            yield from ((Fraction(n * 100 + m), hundred + s) for m in range(1, 100) for s in below.get(m, []))
    for spelling, value in numbers["values"].items():
        yield Fraction(value), spelling


LANGUAGES = json.loads((ROOT / "schema/lexicon/languages.json").read_text(encoding="utf-8"))
_loaded = {}


def lexicon(subject):
    if subject not in _loaded:
        _loaded[subject] = {code: Language(code, subject) for code in LANGUAGES}
    return _loaded[subject]


def classes_of(grammar):
    """The word classes that a grammar names; without a grammar those of absence."""
    if grammar is None:
        return {"absent", "absent-without", "absent-subject", "absent-small", "absent-not", "absent-done", "on-surface", "surface-small", "found"}
    texts = [(ROOT / f"schema/grammar/{name}.peg").read_text(encoding="utf-8") for name in grammar.split()]
    return {name for text in texts for name in re.findall(r"<([a-z][a-z-]*)", text)}


class Words:
    """The pieces of a text with the classes that its words have, in one language and in mul, or in all together."""

    def __init__(self, pieces, subject, language=None, grammar=None):
        self.classes = classes_of(grammar)
        self.pieces, self.all = pieces, list(lexicon(subject).values())
        self.own = [lang for lang in self.all if lang.code in (language, "mul")] if language else self.all
        self.usual = "".join(lang.usual for lang in self.own) if language else ""
        self.thousands = "".join(lang.thousands for lang in self.own) if language else ""
        self.found = [self.forms_at(i) for i in range(len(pieces))]

    def forms_at(self, i):
        """For each class the longest form that begins here: class to (end, meanings)."""
        for languages in (self.own, self.all):
            found = {}
            for lang in languages:
                first = self.pieces[i].word
                near = {first} | lang.spelt.get(first, set())
                if len(first) > 1 and not first.isascii():
                    near |= {other for plain in bare(first) for other in {plain} | lang.spelt.get(plain, set())}
                likely = [lang.forms.get(w, {}) for w in near]
                for form, classes in [item for forms in likely for item in forms.items()]:
                    end = self.fits(form, i, lang)
                    for name, meaning in classes if end else ():
                        if name not in self.classes:
                            continue
                        held = found.get(name)
                        if held is None or end > held[0]:
                            found[name] = (end, [meaning])
                        elif end == held[0] and meaning not in held[1]:
                            held[1].append(meaning)
            if self.classes.intersection(found) or self.number_at(i, languages):
                return found
        return {}

    def fits(self, form, i, lang):
        for k, word in enumerate(form):
            if k:
                start = i
                while i < len(self.pieces) and self.pieces[i].text in "-./:'" and i - start < 3:
                    i += 1
            if i >= len(self.pieces) or self.pieces[i].kind != "word":
                return 0
            own = self.pieces[i].word
            if own != word and (len(own) < 2 or self.spelt_so(own) or word not in lang.spelt.get(own, ()) and not (
                    {word} | bare(word)) & bare(own)):
                return 0
            i += 1
        return i

    def spelt_so(self, word):
        return any((word,) in lang.forms.get(word, {}) for lang in self.own)

    def number_at(self, i, languages=None):
        """The longest number word that begins here: (value, end), or nothing; of all languages where the stated one has no such word."""
        best = None
        if languages is None and self.own is not self.all and i < len(self.pieces):
            return self.number_at(i, self.own) or (None if self.known(i) else self.number_at(i, self.all))
        for lang in languages or self.own:
            joined, k = "", i
            while k < len(self.pieces) and k < i + 9:
                piece = self.pieces[k]
                if piece.kind == "word" and (k == i or piece.word in lang.parts):
                    joined += piece.word
                    value = lang.numbers.get(joined)
                    if value is not None and (best is None or k + 1 > best[1]):
                        best = (value, k + 1)
                elif piece.text != "-" or k == i or not piece.close or not self.pieces[min(k + 1, len(self.pieces) - 1)].close:
                    break
                k += 1
        return best

    def known(self, i):
        """Whether the stated language, or mul, has the word here in some class."""
        first = self.pieces[i].word
        return any((first,) in lang.forms.get(first, {}) and any(n in self.classes for n, _ in lang.forms[first][(first,)]) for lang in self.own)

    def is_a(self, name, i, meaning=None):
        """The end of a word of this class here, or nothing."""
        if not 0 <= i < len(self.pieces) or name not in self.found[i]:
            return 0
        end, meanings = self.found[i][name]
        return end if meaning is None or meaning in meanings else 0

    def meaning(self, name, i):
        return self.found[i][name][1][0]

    def sign(self, i, signs):
        return i + 1 if 0 <= i < len(self.pieces) and self.pieces[i].kind == "sign" and self.pieces[i].text in signs else 0

    def any_of(self, i, *names):
        """The first of several classes, or of signs between quotes, that stands here."""
        for name in names:
            end = self.sign(i, name[1:]) if name[0] == "=" else self.is_a(name, i)
            if end:
                return end
        return 0


def absent(text, subject, language):
    """The reason that a text gives for having no value, or nothing."""
    found = phrase(text, subject, language)
    return None if found == "surface" else found


def phrase(text, subject, language):
    """The reason that a whole text gives for having no value, or surface, or nothing."""
    text = clean(text)
    if set(text) <= set("-/._* ()[]") and set(text) & set("-/._*"):
        return "not-noted"
    if set(text) <= set("? ()[]") and "?" in text:
        return "not-known"
    words = Words(cut(text, decimals=subject != "date"), subject, language)
    parts, i = [], 0
    while i < len(words.pieces):
        if words.pieces[i].kind == "sign":
            i += 1
            continue
        end = max((end for end, _ in words.found[i].values()), default=0)
        if not end or words.pieces[i].kind != "word":
            return None
        parts.append({name: meanings[0] for name, (upto, meanings) in words.found[i].items() if upto == end})
        i = end
    beside = {"absent-done": {"absent-not"}, "absent-without": set(), "absent": set(), "on-surface": {"surface-small", "found"}}
    for core, more in beside.items():
        for n, part in enumerate(parts):
            others = parts[:n] + parts[n + 1:]
            small = {"absent-small", "absent-subject"} | more
            if core not in part or not all(small & set(other) for other in others):
                continue
            subjects = [other["absent-subject"] for other in others if "absent-subject" in other]
            if core == "on-surface":
                return "surface"
            if core == "absent" or core == "absent-done" and any("absent-not" in other for other in others):
                return part[core]
            if core == "absent-without" and subjects:
                return subjects[0] or part[core]
    return None
