"""Texts that stand in no vector, made of the lexica, read by this reader and by a program: `compare.py PROGRAM [SEED]`."""

import json
import random
import subprocess
import sys

import dates
import length
from words import LANGUAGES, ROOT

LEAST = 98  # of a hundred texts, so many must be read alike
MEASURES = ["{lead} {n} {unit} {tail}"] * 6 + ["{lead} {n}{join}{n} {unit}"] * 2 + ["{between} {n} {and} {n} {unit} {tail}"] * 2
LEADS = ["", "~", ">", "{about}", "{over}", "{under}", "{nearly}", "{at-least}", "{at-most}", "{a-good}", "{more} {than}",
         "{not} {less} {than}", "{found} {at}", "{measure-name}", "{just} {over}", "{unsure}", "{at}"]
TAILS = ["", "", "?", "+", "+/- 2 cm", "(8 in)", "{or} {more}", "{below-surface} {surface}", "{measure-name}", "{about}", "{layer}", "{at-most}"]
DAYS = ["{d} {month} {y}", "{d}. {month} {y}", "{month} {y}", "{season} {y}", "{d}/{m}/{y}", "{d}.{m}.{y}", "{d}-{d} {month} {y}",
        "{d} {to} {d} {month} {y}", "{d} {month} {to} {d} {month} {y}", "{early} {month} {y}", "{month} {d}, {y}", "{y} {month} {d}",
        "{d} {month}", "{d}{ordinal-ending} {month} {y}"]
BEFORE = ["", "", "{weekday}", "{weekday},", "{date-filler}", "{about}", "{unsure}", "{the}", "{between}"]
BEHIND = ["", "", "", "?", " {at-time} 14:30", " 14.30 {oclock}", " {year}", " 2:30 pm", ", 9:05"]


class Maker:
    def __init__(self, language, subject, chance):
        data = json.loads((ROOT / f"schema/lexicon/{language}.json").read_text(encoding="utf-8"))
        self.words, self.numbers, self.subject, self.chance = data["words"], data["numbers"], subject, chance

    def word(self, name):
        pick = self.chance.choice
        figures = {"d": lambda: self.chance.randint(1, 31), "m": lambda: self.chance.randint(1, 12), "y": lambda: pick([2024, 2025, 2026]),
                   "n": self.number, "join": lambda: pick(["-", " - ", "/", " {to} ", " {or} "]), "lead": lambda: pick(LEADS), "tail": lambda: pick(TAILS)}
        if name in figures:
            return str(figures[name]())
        entries = [e for e in self.words[name] if self.subject in e.get("in", self.subject).split()]
        forms = [form for e in entries for form in e["forms"] if name != "unit" or e["is"] in length.UNITS and length.UNITS[e["is"]][0] == "length"]
        return pick(forms) if forms else "cm" if name == "unit" else ""

    def number(self):
        pick, draw = self.chance.choice, self.chance.randint
        return pick([str(draw(1, 60)), str(draw(1, 60)), f"{draw(1, 20)}.{draw(1, 9)}", f"{draw(1, 20)},5", "8 1/2", "3/8", "½", "12½",
                     pick(pick(self.numbers["small"])), pick(pick(self.numbers["tens"]))])

    def text(self):
        pick = self.chance.choice
        text = pick(MEASURES) if self.subject == "measure" else f"{pick(BEFORE)} {pick(DAYS)}{pick(BEHIND)}"
        while "{" in text:
            name = text[text.index("{") + 1:text.index("}")]
            text = text.replace("{" + name + "}", self.word(name), 1)
        return " ".join(text.split())


def alike(mine, other):
    if "error" in other or "absent" in other:
        return "error" in mine or "absent" in mine
    names = ("min", "max", "best", "resolution", "approximate", "date", "time")
    return "error" not in mine and all(
        mine.get(n) == other.get(n) or isinstance(mine.get(n), float) and n in other and abs(mine[n] - other[n]) < 1e-6 for n in names)


def main():
    chance, verbose = random.Random(sys.argv[2] if len(sys.argv) > 2 else "findslip"), "-v" in sys.argv
    right = total = 0
    for kind, subject in (("length", "measure"), ("date", "date")):
        for language in LANGUAGES:
            if language == "mul":
                continue
            maker = Maker(language, subject, chance)
            texts = sorted({maker.text() for _ in range(150)})
            answer = subprocess.run([sys.argv[1], "read", kind, "--json", "--language", language], input="\n".join(texts), text=True,
                                    encoding="utf-8", capture_output=True, check=False).stdout.splitlines()
            for text, line in zip(texts, answer, strict=True):
                mine = length.read(text, kind, None, language, True) if kind == "length" else dates.read(text, {}, language)
                same = alike(mine, json.loads(line))
                right, total = right + same, total + 1
                if verbose and not same:
                    print(kind, language, repr(text), mine, line)
    print(f"texts in no vector: {right} of {total} read alike ({100 * right / total:.1f} %; asked: {LEAST} %)")
    sys.exit(100 * right < LEAST * total)


if __name__ == "__main__":
    main()
