"""Texts made of the grammar and the lexica, thousands a kind, and near-misses of one edit, read by this reader and by a program.

`generate.py PROGRAM [-n TEXTS] [-s SEED] [-k KIND] [-v]`: every text is a random derivation of schema/grammar/KIND.peg; looking
ahead is left out, so that many texts are none of the language, and the reader made of the grammar says which."""

import argparse
import collections
import json
import random
import re
import subprocess
import sys

import dates
import dating
import length
from words import LANGUAGES, ROOT, lexicon

PIECE = re.compile(r"""\s*(?:
    (?P<text>"(?:\\.|[^"\\])*") | (?P<class><[a-z][^<>]*>) | (?P<figures>(?:one\ or\ two|two|four)\ figures) |
    (?P<name>[A-Za-z][A-Za-z0-9-]*) | (?P<sign>[/()*+?&!'|…]) | (?P<other>\S))""", re.X)
# Rules that the grammar tells in words, so far as texts are made of them.
TOLD = {"date": {"marks": """(<about> / <unsure> / "~" / <around>)?""", "canonical": "year '\"-\" mm", "week": """year '"-" '"W" mm""",
                 "numbers": "n 's 'n 's 'year / n '\"/\" 'n '\"-\" 'year / n '\"-\" 'n '\".\" 'n '\".\" 'year / n '\"/\" 'year"},
        "length": {}, "count": {},
        "dating": {"canonical": "year '\"-\" mm", "core-date": "day / hundred hundreds / hundred decade / hundred / n ordinal? century / <ordinal> century / roman century",
                   "core": "<period> / <reign> / <war> / <period-tail>", "part": "(<ordinal> / <last> / n ordinal / <early> / <late>) (<half> / <third> / <quarter>) / <early> / <middle> / <late>",
                   "decade": "\"'\"? '<decade-ending> <year>? / \"-\" (<decade-ending> / <decade-years>)",
                   "parts": "event? period / event? (turn / span) / span", "turn": "(<turn> / <turn-of-century>) (<date-filler> / <of>)* side (joint side)?",
                   "behind": "mark / <era> / <year> / <period-tail> / part", "lead": "(mark / <not> / <date-filler> / <the> / <year> / opener)*",
                   "span": "lead side joint side / lead side tail? / side"}}
FIGURES = {"figures": (1, 999), "hundred": (12, 19), "n": (1, 31), "hh": (0, 23), "mm": (10, 59), "ss": (10, 59), "two figures": (10, 99),
           "four figures": (2024, 2026), "one or two figures": (1, 31)}
PLAIN = {"Z": "Z", "w": "w"}


BASE = {"weight": "length", "count": "length", "dating": "date"}  # whose rules a grammar leans on


def rules(kind):
    """The rules of a grammar: name to alternatives; an alternative that is told in words and not in signs is None."""
    base = rules(BASE[kind]) if kind in BASE else {}
    out, name = {}, None
    if kind == "weight":
        return base
    for line in (ROOT / f"schema/grammar/{kind}.peg").read_text(encoding="utf-8").splitlines():
        line = re.split(r"(?:^|\s)# |^#|\s->", line)[0].rstrip()
        head = re.match(r"([a-z][a-z0-9-]*)\s+<- (.*)", line)
        if head:
            name, line = head.groups()
            out[name] = line
        elif name and re.match(r"\s+[/(]", line):
            out[name] += " " + line.strip()
    return base | {name: Parser(TOLD[kind].get(name, text), base | out).choice() for name, text in out.items()}


class Parser:
    """A reader of the notation; what it does not know makes its sequence None."""

    def __init__(self, text, known):
        self.pieces = [(m.lastgroup, m.group(m.lastgroup)) for m in PIECE.finditer(text)]
        self.i, self.known = 0, known

    def peek(self):
        return self.pieces[self.i] if self.i < len(self.pieces) else ("end", "")

    def take(self):
        self.i += 1
        return self.pieces[self.i - 1]

    def choice(self):
        found = [self.sequence()]
        while self.peek() == ("sign", "/"):
            self.take()
            found.append(self.sequence())
        return ("choice", found)

    def sequence(self):
        items, fine = [], True
        while self.peek()[0] != "end" and self.peek() not in (("sign", "/"), ("sign", ")")):
            item = self.item()
            fine &= item is not None
            items.append(item)
        return ("sequence", items) if fine and items else None

    def item(self):
        close = looks = False
        while self.peek() in (("sign", "'"), ("sign", "&"), ("sign", "!")):
            sign = self.take()[1]
            close, looks = close or sign == "'", looks or sign != "'"
        sort, text = self.take() if self.peek()[0] != "end" else ("other", "")
        node = None
        if (sort, text) == ("sign", "("):
            node = self.choice()
            if self.peek() == ("sign", ")"):
                self.take()
        elif sort == "text":
            node = ("text", re.sub(r"\\(.)", r"\1", text[1:-1]))
        elif sort == "class":
            node = ("class", text[1:-1])
        elif sort == "figures" or text in FIGURES:
            node = ("figures", text)
        elif text in self.known:
            node = ("rule", text)
        elif text in ("end", "any"):
            node = ("text", "")
        elif text in ("s", "roman"):
            node = ("part", text)
        while self.peek() in (("sign", "*"), ("sign", "+"), ("sign", "?")):
            node = node and ("times", self.take()[1], node) if node else self.take() and None
        if looks:
            return ("text", "")
        return ("close", node) if close and node else node


class Maker:
    """Derivations of the rules of a kind with the words of one language."""

    def __init__(self, kind, language, chance):
        self.kind, self.language, self.chance = kind, language, chance
        self.subject = "measure" if kind in ("length", "weight", "count") else "date"
        self.rules = rules(kind)
        self.words = {}
        for code in (language, "mul"):
            data = json.loads((ROOT / f"schema/lexicon/{code}.json").read_text(encoding="utf-8"))
            for name, entries in data["words"].items():
                for entry in entries:
                    if self.subject in entry.get("in", self.subject).split():
                        self.words.setdefault(name, []).extend((entry.get("is"), form) for form in entry["forms"])
        self.numbers = collections.defaultdict(list)
        for lang in lexicon(self.subject).values():
            if lang.code == language:
                for word, value in lang.numbers.items():
                    self.numbers[value].append(word)
        self.used = collections.Counter()

    def word(self, name):
        name, _, meaning = name.partition("=")
        name = name.split(" ")[0]
        pick = self.chance.choice
        if name == "number":
            value = pick([1, 2, 3, 4, 5, 7, 10, 12, 20, 25, 40, 100]) if not meaning.isdigit() else int(meaning)
            return pick(self.numbers[value] or [str(value)])
        forms = [form for is_, form in self.words.get(name, []) if not meaning or is_ == meaning]
        if name == "unit":
            forms = [form for is_, form in self.words["unit"] if (not meaning or is_ == meaning) and
                     length.UNITS[is_][0] == ("weight" if self.kind == "weight" else "length")]
        return pick(forms) if forms else None

    def make(self, node, depth=0):
        """The pieces of a derivation, or None where the language has no word for it; "" joins its neighbours."""
        if depth > 24 or node is None:
            return None
        sort, chance = node[0], self.chance
        if sort == "text":
            return [node[1]] if node[1] else []
        if sort == "class":
            word = self.word(node[1])
            return None if word is None else [word]
        if sort == "figures":
            low, high = FIGURES[node[1]]
            number = str(chance.randint(low, high if chance.random() < 0.2 or high < 60 else min(high, 60) if low < 60 else high))
            if node[1] == "hundred":
                number += chance.choice(["00", "50", "60", "43"])
            if node[1] == "figures" and chance.random() < 0.2:
                number += chance.choice([".5", ",5", ".25", ",0"])
            return [number]
        if sort == "part":
            return [chance.choice("./- ") if node[1] == "s" else chance.choice(["I", "II", "IV", "IX", "XII", "XVIII", "XIX"])]
        if sort == "rule":
            return self.make(self.rules[node[1]], depth + 1)
        if sort == "close":
            made = self.make(node[1], depth)
            return made and ["", *made]
        if sort == "times":
            least, most = {"?": (0, 1), "*": (0, 2), "+": (1, 2)}[node[1]]
            out = []
            often = 0.2 if node[2] == ("rule", "unit") else 0.62
            for _ in range(least if chance.random() < often else chance.randint(least, most) if often > 0.5 else 1):
                made = self.make(node[2], depth)
                if made is None:
                    break
                out += made
            return out
        if sort == "choice":
            for _ in range(4):
                i = chance.randrange(len(node[1]))
                made = self.make(node[1][i], depth)
                if made is not None:
                    self.used[id(node[1][i])] += 1
                    return made
            return None
        out = []
        for item in node[1]:
            made = self.make(item, depth)
            if made is None:
                return None
            out += made
        return out

    def text(self):
        pieces = next(filter(None, (self.make(self.rules["text"]) for _ in range(999))), [""])
        text, glue = "", True
        for piece in pieces:
            if piece == "":
                glue = True
                continue
            sign = not (piece[0].isalnum() or text[-1:].isalnum())
            text += ("" if glue or not text or piece[0] in ".,:;?" or (not piece[0].isalnum() or sign) and self.chance.random() < 0.5 else " ") + piece
            glue = False
        return " ".join(text.split())


def edited(text, chance):
    """The text with one edit: a sign or a word less, twice, another, or two of them changed about."""
    if chance.random() < 0.3 and " " in text:
        words = text.split(" ")
        i = chance.randrange(len(words))
        words[i:i + 1] = chance.choice([[], [words[i], words[i]]])
        return " ".join(words)
    i = chance.randrange(len(text))
    other = chance.choice([*"0123456789 .,-/'\"?~+()", *text, "e", "n", "s", "st"])
    return chance.choice([text[:i] + text[i + 1:], text[:i] + other + text[i:], text[:i] + other + text[i + 1:],
                          text[:i] + text[i:i + 2][::-1] + text[i + 2:]]).strip()


LEAST = {"grammar": 995, "near-miss": 995}  # of a thousand texts, so many must be read alike
CODES = {"unit-missing", "unit-ambiguous", "fraction-ambiguous", "text-damaged", "spreadsheet-date", "echo-disagrees", "date-order-unknown",
         "date-impossible"}
NAMES = {"negative": "quantity-negative", "year-two-digits": "date-two-digits", "serial-not-expected": "date-two-digits"}


def read(kind, text, language):
    if kind in ("length", "weight", "count"):
        return length.read(text, kind, None, language, True)
    if kind == "dating":
        return dating.read(text, {}, language)
    return dates.read(text, {}, language)


def alike(mine, other):
    """Whether both read the same, or both refuse; and whether they refuse under one code where it is one that says why."""
    if "absent" in other or "absent" in mine:
        return mine.get("absent") == other.get("absent"), True
    if "error" in other or "error" in mine:
        if ("error" in other) != ("error" in mine):
            return False, False
        ours, theirs = NAMES.get(mine["error"], mine["error"]), other["error"]["code"]
        return True, ours == theirs or not {ours, theirs} & CODES
    names = {"min", "max", "best", "resolution", "approximate", "said", "unit", "date", "time", "earliest", "latest", "basis"}
    return all(mine.get(n) == other.get(n) or isinstance(mine.get(n), float) and n in other and abs(mine[n] - other[n]) <= 1e-6 * max(1, abs(other[n]))
               for n in names), True


def run(kind, options):
    """Counts for one kind: texts and near-misses alike, of how many, read ones, and codes that differ."""
    chance, counts = random.Random(f"{options.s} {kind}"), collections.Counter()
    languages = [code for code in LANGUAGES if code != "mul"]
    for language in languages:
        maker, texts = Maker(kind, language, chance), {}
        for _ in range(20 * options.n):
            if len(texts) >= options.n // len(languages):
                break
            text = maker.text()
            if text and len(text.encode()) <= 240:
                texts[text] = "grammar"
        for text in list(texts):
            near = edited(text, chance)
            if near and "\n" not in near:
                texts.setdefault(near, "near-miss")
        answer = subprocess.run([options.program, "read", kind, "--json", "--language", language], input="\n".join(texts), text=True,
                                encoding="utf-8", capture_output=True, check=False).stdout.splitlines()
        for (text, sort), line in zip(texts.items(), answer, strict=True):
            try:
                mine = read(kind, text, language)
            except Exception as problem:  # a fault of this reader is a difference, and is shown
                mine = {"error": f"fault: {problem!r}"}
            same, code = alike(mine, json.loads(line))
            counts[sort] += 1
            counts[sort, "alike"] += same
            counts[sort, "read"] += "error" not in mine
            counts["codes"] += not code
            if options.v and not (same and code):
                print(kind, language, sort, repr(text), mine, line[:300])
    return counts


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("program")
    parser.add_argument("-n", type=int, default=2000)
    parser.add_argument("-s", default="findslip")
    parser.add_argument("-k", default="length weight count date dating")
    parser.add_argument("-v", action="store_true")
    options, failed = parser.parse_args(), False
    for kind in options.k.split():
        found = run(kind, options)
        line = [f"{sort}: {found[sort, 'alike']} of {found[sort]} alike, {found[sort, 'read']} of them read" for sort in ("grammar", "near-miss")]
        print(f"{kind}: {'; '.join(line)}; under another code: {found['codes']}")
        failed |= any(1000 * found[sort, "alike"] < LEAST[sort] * found[sort] for sort in ("grammar", "near-miss"))
    sys.exit(failed)


if __name__ == "__main__":
    main()
