"""Writes testdata/vectors/words.json: every word of the lexica in a text that is read, and texts of one edit that are refused.

`vectors.py PROGRAM`: the values are those of the program. For lengths, weights, counts and days this reader must agree with them, else the
text is left out; the other kinds say `reader`. A text is taken from the first pattern of its class in which the word is read."""

import collections
import json
import random
import subprocess
import sys

import generate
import length
from words import LANGUAGES, ROOT

TABLES = "doubt coat with plural-ending not-counted count-ending ditto total date-pattern latlon position-name position-filler geographic side sheet example oneself title hour"
MEASURE = ["{w} 20 cm", "20 cm {w}", "{w} {over} 20 cm", "{w} {than} 20 cm", "{at} {w} 20 cm", "20 {w}", "{w} cm", "{w} {unit}", "{one} {w} m",
           "2 m {w} {half}", "20 cm {or} {w}", "20 cm {below-surface} {w}", "{w} 20 {and} 30 cm", "20 {w} 30 cm", "{between} 20 {w} 30 cm", "{w} {to} 20 cm",
           "{up} {w} 20 cm", "{not} {w} {than} 20 cm", "{w} {more} {than} 20 cm", "20 cm {w} {surface}", "20 cm {w} {minus} 2 cm", "{plus} {or} {w} 20 cm",
           "{w} {or} {minus} 20 cm", "20{w} cm", "{article} {w} cm", "{article} {w} m", "20 cm {w} {layer}", "{one} {and} {w} m", "{measure-name} {w} 20 cm", "{w}"]
WEIGHT = ["20 {w}", "20 oz {w}", "20 {w} oz", "20 dr {w}", "20 {w} dr", "20 {w} ct", "20 ct {w}", "20 ft {w}", "20 {w} survey ft"]
COUNT = ["3 {w}", "{w}", "2 {w}", "3 x {w}", "{w} 3", "3 {w} 5"]
DAY = ["{w} 12 {month} 2026", "12 {w} 2026", "{w} 2026", "12 {month} 2026 {w}", "12 {w} 14 {month} 2026", "12{w} {month} 2026", "{w} {month} 2026",
       "12 {month} 2026 {w} 14:30", "12 {month} 2026 14 {w}", "2026 {w}", "{weekday} {w} 12 {month} 2026", "{w} 12 {month} {and} 14 {month} 2026", "{w}"]
DATING = ["{w}", "{w} {century}", "{w} 1700", "1700 {w}", "200 {w}", "18. {w}", "{ordinal} {w}", "{w} 18. {century}", "{w} {half} 18. {century}",
          "1. {w} 18. {century}", "{early} {w}", "{w} {period}", "{period} {w}", "{w} {than} 1700", "{not} {w} {than} 1700", "{not} {w} 1700", "1700 {w} 1750",
          "{w} 1700 {and} 1750", "{between} 1700 {w} 1750", "{w} 17. {and} 18. {century}", "1860{w}", "1700 {or} {w}", "{w} Karl", "{w} 1. {century}", "1. {w}",
          "{w} 17./18. {century}", "1860 {w}", "{war} {w}", "1700{w}", "{w}{period}", "{w}zeit", "{period}{w}"]
POSITION = ["52.5 {w}, 1.2 E", "52.5 N, 1.2 {w}", "{w} 52.5, 1.2", "{w} 52.5 N, 1.2 E", "52 {w} 30' N, 1 {w} 12' E", "52° 30 {w} N, 1° 12 {w} E", "52° 30' 10 {w} N, 1° 12' 10 {w} E",
            "{latitude} 52.5, {w} 1.2", "{w} 52.5, {longitude} 1.2", "{w} SP 5270 9011", "EPSG:27700 {w} 452700 290110", "EPSG:27700 {w} 452700 {northing} 290110",
            "EPSG:27700 {easting} 452700 {w} 290110", "EPSG:27700 452700 {w} 290110 {w}", "452700 290110 {w} 31", "52.5, 1.2 ± 5 {w}", "{w}"]
ABSENT = ["{w}", "{w} {absent}", "{absent} {w}", "{w} {absent-subject}", "{absent-without} {w}", "{absent-without} {w} {absent-subject}", "{absent-not} {w}", "{w} {absent-done}",
          "{w} {on-surface}"]
PATTERNS = {"length": ABSENT + MEASURE, "weight": WEIGHT, "count": COUNT, "date": ABSENT + DAY, "dating": DATING, "position": ABSENT + POSITION}
BOTH = {"length", "weight", "count", "date"}


def first_words(data, language):
    """For each class its first form, to stand beside the word in question."""
    beside = {name: entries[0]["forms"][0] for name, entries in data["words"].items() if entries}
    beside |= {"unit": "cm", "one": (data["numbers"]["small"] or [["0"], ["1"]])[1][0], "ordinal": beside.get("ordinal", "18.")}
    return beside


def forms(data):
    for name, entries in data["words"].items():
        if name not in TABLES.split():
            for entry in entries:
                for form in entry["forms"]:
                    yield name, entry.get("in"), form
    for row in data["numbers"]["small"] + data["numbers"]["tens"]:
        for form in row:
            yield "number", "measure", form


def ask(program, kind, language, texts):
    if not texts:
        return []
    command = [program, "read", kind, "--json"] + (["--language", language] if language != "mul" else [])
    lines = subprocess.run(command, input="\n".join(texts), text=True, encoding="utf-8", capture_output=True, check=False).stdout.splitlines()
    return [json.loads(line) for line in lines]


def value(kind, text, found):
    """What a vector expects: the members without what is only told; a period that is the whole text is "="."""
    out = {name: v for name, v in found.items() if name not in ("input", "notices", "referenceSystem", "corrections", "uncertaintyBasis")}
    if "error" in out:
        out = {"error": out["error"]["code"]}
    if "period" in out:
        out["period"] = "=" if out["period"]["label"] == text else out["period"]["label"]
    return out


def alike(kind, text, language, found):
    if kind not in BOTH:
        return True
    mine = generate.read(kind, text, None if language == "mul" else language)
    same, code = generate.alike(mine, found)
    return same and code


def of_words(program, language, rows):
    """Texts for all words of a language; those for which no pattern is read are returned."""
    data = json.loads((ROOT / f"schema/lexicon/{language}.json").read_text(encoding="utf-8"))
    beside, left, read = first_words(data, language), list(dict.fromkeys(forms(data))), {}
    candidates = collections.defaultdict(dict)
    for name, subject, form in left:
        for kind, patterns in PATTERNS.items():
            if subject and {"date": "date", "dating": "date", "position": "position"}.get(kind, "measure") not in subject.split():
                continue
            for i, pattern in enumerate(patterns):
                try:
                    candidates[kind].setdefault(pattern.replace("{w}", form).format_map(beside), (i, form))
                except KeyError:
                    continue
    for kind, texts in candidates.items():
        for text, found in zip(texts, ask(program, kind, language, list(texts))):
            if "error" not in found or texts[text][0] < len(ABSENT):
                read[kind, text] = found
    used = set()
    for name, subject, form in left:
        best = None
        for kind, patterns in PATTERNS.items():
            for i, pattern in enumerate(patterns):
                try:
                    text = pattern.replace("{w}", form).format_map(beside)
                except KeyError:
                    continue
                found = read.get((kind, text))
                if not found or kind == "weight" and name in ("article", "number"):
                    continue
                rank = ("error" in found, i)
                if (best is None or rank < best[0]) and alike(kind, text, language, found):
                    best = (rank, kind, text, found)
        if best:
            used.add((name, form))
            _, kind, text, found = best
            rows[kind, language, json.dumps(value(kind, text, found), ensure_ascii=False)][text] = 1
    return [(name, form) for name, _, form in left if (name, form) not in used]


def refusals(program, language, rows, count=125):
    """Texts of one edit from one that is read, which both refuse under the same code."""
    for kind in sorted(BOTH):
        chance, texts = random.Random(f"{kind} {language}"), {}
        maker = generate.Maker(kind, language, chance)
        own = [text for (k, l, _), held in rows.items() if (k, l) == (kind, language) and "error" not in _ and "absent" not in _ for text in held]
        for _ in range(14 * count):
            text = chance.choice(own) if own and chance.random() < 0.6 else maker.text()
            near = generate.edited(text, chance) if text else ""
            if near and "\n" not in near and len(near) < 60:
                texts[near] = text
        answers = dict(zip(texts, ask(program, kind, language, list(texts))))
        bases = dict(zip(texts.values(), ask(program, kind, language, list(texts.values()))))
        taken = 0
        for near, found in answers.items():
            if taken < count and "error" in found and "error" not in bases[texts[near]] and alike(kind, near, language, found):
                rows[kind, language, json.dumps(value(kind, near, found))][near] = 1
                taken += 1


def main():
    program, rows = sys.argv[1], collections.defaultdict(dict)
    for language in LANGUAGES:
        left = of_words(program, language, rows)
        if language != "mul":
            refusals(program, language, rows)
        print(language, len(left), "words in no text:", left[:400] if "-v" in sys.argv else "")
    lines = []
    for (kind, language, expect), texts in sorted(rows.items(), key=lambda row: (row[0][0], LANGUAGES.index(row[0][1]), row[0][2])):
        by = "both" if kind in BOTH else "reader"
        lines.append(json.dumps({"kind": kind, "language": language, "by": by, "expect": json.loads(expect), "inputs": sorted(texts)}, ensure_ascii=False))
    (ROOT / "testdata/vectors/words.json").write_text("[\n  " + ",\n  ".join(lines) + "\n]\n", encoding="utf-8")
    total = sum(map(len, rows.values()))
    refused = sum(len(texts) for (_, _, expect), texts in rows.items() if '"error"' in expect)
    print(f"{total} texts in {len(lines)} rows, {refused} refused")


if __name__ == "__main__":
    main()
