"""Runs the peer over testdata/vectors: `read.py` for the verdict, `read.py -v` for every miss."""

import collections
import json
import sys

import dates
import dating
import length
from words import LANGUAGES, ROOT

# The kinds, their vectors, and how many in a hundred must be right: all are, but for one weight (qw-102). A vector that
# is added and missed here is a fault of this reader, or of the texts.
FILES = {"length": ("quantity-length", 99), "weight": ("quantity-mass", 98), "count": ("quantity-count", 99), "date": ("date-found", 99), "dating": ("date-dating", 95)}


def run(vector):
    language = vector.get("language") if vector.get("language") in LANGUAGES and vector.get("language") != "mul" else None
    kind, text = vector["kind"], vector["input"]
    if kind in ("length", "weight", "count"):
        return length.read(text, kind, vector.get("default"), language, vector.get("stated", False))
    return (dating if kind == "dating" else dates).read(text, vector, language)


def same(expected, got):
    expected = {k: v for k, v in expected.items() if k not in ("notices", "corrections", "proposals")}
    if set(expected) != set(got):
        return False
    return all(abs(got[k] - v) <= 1e-9 * max(1, abs(v)) if isinstance(v, (int, float)) and not isinstance(v, bool) else got[k] == v
               for k, v in expected.items())


def main():
    verbose, failed = "-v" in sys.argv[1:], False
    for kind, (name, least) in FILES.items():
        counts = collections.Counter()
        for vector in json.loads((ROOT / f"testdata/vectors/{name}.json").read_text(encoding="utf-8")):
            try:
                got = run(vector)
            except Exception as problem:
                if verbose:
                    raise
                got = {"error": f"fault of the peer: {problem}"}
            right = same(vector["expect"], got)
            for group in ("all", vector["class"], vector.get("language", "none")):
                counts[group, right] += 1
            if not right and verbose:
                print(vector["id"], vector.get("language"), repr(vector["input"]), "expected", vector["expect"], "got", got)
        total = counts["all", True] + counts["all", False]
        share = 100 * counts["all", True] / total
        failed |= share < least
        print(f"{kind}: {counts['all', True]} of {total} right, {counts['all', False]} wrong ({share:.1f} %; asked: {least} %)")
        for group in sorted({g for g, _ in counts} - {"all"}):
            print(f"  {group}: {counts[group, True]} right, {counts[group, False]} wrong")
    sys.exit(failed)


if __name__ == "__main__":
    main()
