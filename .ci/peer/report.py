"""Reports as whole files, written from SPEC.md (sections 3, 6, 8 and 10) and the published schemas alone: the gate, a judge of
JSON Schema (as much of 2020-12 as the schemas of a report use), JSON Lines, canonical JSON, and quantities read."""

import datetime
import decimal
import json
import re

import length
from words import ROOT

SCHEMAS = {name: json.loads((ROOT / f"schema/bundle/{name}.schema.json").read_text(encoding="utf-8")) for name in ("report", "simple")}
METHODS = {c["code"]: c.get("radius", {}).get("metres") for c in json.loads((ROOT / "schema/vocabulary/position-method.json").read_text(encoding="utf-8"))["concepts"]}
folded = lambda text: re.sub(r"\s+", " ", text.strip()).casefold()
WORDS = {}  # of materials: the code, and how sure
for concept in json.loads((ROOT / "schema/vocabulary/material.json").read_text(encoding="utf-8"))["concepts"]:
    WORDS.update({folded(s["text"]): (concept["code"], s["certainty"]) for s in concept.get("suggestedBy", [])})
    WORDS.update({folded(w): (concept["code"], None) for w in concept["prefLabel"].values()})
    WORDS.update({folded(w): (concept["code"], None) for words in concept.get("altLabel", {}).values() for w in words})


class Refused(Exception):
    def __init__(self, code, why):
        super().__init__(why)
        self.code = code


# The gate (6.1-1).

def strict(text):
    """The value of a JSON text as I-JSON allows it."""
    if isinstance(text, bytes):
        try:
            text = text.decode("utf-8")
        except UnicodeDecodeError:
            raise Refused("json-text-damaged", "this is no UTF-8")

    def members(pairs):
        if len({name for name, _ in pairs}) < len(pairs):
            raise Refused("json-duplicate-name", "a name stands twice in one object")
        return dict(pairs)

    def number(literal):
        if abs(decimal.Decimal(literal)) > decimal.Decimal("1.7976931348623157e308"):
            raise Refused("json-number-out-of-range", "a number is beyond a double")
        return decimal.Decimal(literal)

    def never(literal):
        raise Refused("json-syntax", f"{literal} is no number of JSON")

    try:
        value = json.loads(text, object_pairs_hook=members, parse_float=number, parse_int=number, parse_constant=never)
    except RecursionError:
        raise Refused("json-too-large", "nested without end")
    except ValueError as why:
        raise Refused("json-syntax", str(why))
    if deep(value) > 66:  # a find stands in the list of the report
        raise Refused("json-too-large", "nested more than 64 deep")
    if re.search("[\ud800-\udfff]", json.dumps(value, ensure_ascii=False, default=str)):
        raise Refused("json-text-damaged", "half of a pair stands alone")
    return value


def deep(value):
    """How many objects and lists lie within each other."""
    level, here = 0, [value]
    while here := [v for v in here if isinstance(v, (dict, list))]:
        level, here = level + 1, [inner for v in here for inner in (v.values() if isinstance(v, dict) else v)]
    return level


# JSON Schema.

NUMBER = (int, float, decimal.Decimal)
TYPES = {"object": dict, "array": list, "string": str, "boolean": bool, "null": type(None), "number": NUMBER, "integer": NUMBER}


def is_type(value, name):
    if isinstance(value, bool) and name != "boolean" or not isinstance(value, TYPES[name]):
        return False
    return name != "integer" or value == int(value)


def moment(text):
    m = re.fullmatch(r"(\d{4}-\d\d-\d\d)[Tt](\d\d):(\d\d):(\d\d)(\.\d+)?([Zz]|[+-](\d\d):(\d\d))", text)
    return bool(m) and day(m[1]) and int(m[2]) < 24 and int(m[3]) < 60 and int(m[4]) < 60 and int(m[7] or 0) < 24 and int(m[8] or 0) < 60


def day(text):
    try:
        return bool(re.fullmatch(r"\d{4}-\d\d-\d\d", text)) and (text[:4] == "0000" or bool(datetime.date.fromisoformat(text)))
    except ValueError:
        return False


FORMATS = {"date": day, "date-time": moment, "uri": lambda text: bool(re.fullmatch(r"[A-Za-z][A-Za-z0-9+.-]*:[^\s<>\"{}|\\^`]*", text))}


def escaped(name):
    return name.replace("~", "~0").replace("/", "~1")


def faults(value, schema, root, at=""):
    """What a schema has against a value: the code of the notice, and the pointer; of a choice that fails, that it fails."""
    if schema is False:
        yield "schema-forbidden", at
    if isinstance(schema, bool):
        return
    meets = lambda s: not any(faults(value, s, root))
    if "$ref" in schema:
        target = root
        for name in schema["$ref"].split("/")[1:]:
            target = target[name]
        yield from faults(value, target, root, at)
    kinds = schema.get("type", [])
    kinds = [kinds] if isinstance(kinds, str) else kinds
    if kinds and not any(is_type(value, kind) for kind in kinds):
        yield "schema-type", at
        return
    if "const" in schema and value != schema["const"] or "enum" in schema and value not in schema["enum"]:
        yield "schema-enum", at
    if "anyOf" in schema and not any(meets(s) for s in schema["anyOf"]):
        yield ("schema-required" if all("required" in s for s in schema["anyOf"]) else "schema-other"), at
    if "not" in schema and meets(schema["not"]):
        yield "schema-forbidden", at
    if "if" in schema:
        yield from faults(value, schema.get("then" if meets(schema["if"]) else "else", True), root, at)
    wrong = set()
    if isinstance(value, str):
        if not schema.get("minLength", 0) <= len(value) <= schema.get("maxLength", 1 << 30):
            wrong.add("schema-pattern")
        pattern = schema.get("pattern", "")
        if not re.search(pattern[:-1] + r"\Z" if pattern.endswith("$") else pattern, value) or not FORMATS.get(schema.get("format"), lambda text: True)(value):
            wrong.add("schema-pattern")
    elif is_type(value, "number"):
        if not schema.get("minimum", value) <= value <= schema.get("maximum", value) or value <= schema.get("exclusiveMinimum", value - 1):
            wrong.add("schema-range")
    elif isinstance(value, list):
        first = schema.get("prefixItems", [])
        if not schema.get("minItems", 0) <= len(value) <= schema.get("maxItems", 1 << 30):
            wrong.add("schema-pattern")
        for i, v in enumerate(value):
            yield from faults(v, first[i] if i < len(first) else schema.get("items", True), root, f"{at}/{i}")
    elif isinstance(value, dict):
        known = schema.get("properties", {})
        if not schema.get("minProperties", 0) <= len(value) <= schema.get("maxProperties", 1 << 30):
            wrong.add("schema-pattern")
        needed = [*schema.get("required", []), *(o for name, others in schema.get("dependentRequired", {}).items() if name in value for o in others)]
        if any(name not in value for name in needed):
            wrong.add("schema-required")
        for name, v in value.items():
            if any(faults(name, schema.get("propertyNames", True), root)):
                yield "schema-pattern", f"{at}/{escaped(name)}"
            yield from faults(v, known.get(name, schema.get("additionalProperties", True)), root, f"{at}/{escaped(name)}")
    yield from ((code, at) for code in sorted(wrong))


def valid(value, name):
    return not any(faults(value, SCHEMAS[name], SCHEMAS[name]))


def gated(text):
    """The report of a text, and what keeps some of its finds out (6.2-1): they cost the others nothing."""
    report = json.loads(text)
    if isinstance(report, dict) and deep({name: value for name, value in report.items() if name != "finds"}) > 64:
        yield "json-too-large", ""
    for i, f in enumerate(report.get("finds", []) if isinstance(report, dict) else []):
        if deep(f) > 64:
            yield "json-too-large", f"/finds/{i}"
        if re.search("Infinity", json.dumps(f)):
            yield "json-number-out-of-range", f"/finds/{i}"


# Canonical JSON (8.1-1).

def resolved(schema):
    while "$ref" in schema and "properties" not in schema:
        target = SCHEMAS["report"]
        for name in schema["$ref"].split("/")[1:]:
            target = target[name]
        schema = {**target, **{k: v for k, v in schema.items() if k != "$ref"}}
    return schema


def ordered(value, schema=SCHEMAS["report"]):
    schema = resolved(schema)
    if isinstance(value, list):
        return [ordered(v, schema.get("items", {})) for v in value]
    if not isinstance(value, dict):
        return value
    known = schema.get("properties", {})
    if isinstance(schema.get("additionalProperties"), dict):
        return dict(sorted(value.items()))  # a map
    return {name: ordered(value[name], known.get(name, {})) for name in [*(n for n in known if n in value), *(n for n in value if n not in known)]}


def canonical(value, indent="\n"):
    if isinstance(value, (dict, list)) and value:
        inner = indent + "  "
        parts = [json.dumps(k, ensure_ascii=False) + ": " + canonical(v, inner) for k, v in value.items()] if isinstance(value, dict) else [canonical(v, inner) for v in value]
        return "{["[isinstance(value, list)] + inner + ("," + inner).join(parts) + indent + "}]"[isinstance(value, list)]
    if isinstance(value, decimal.Decimal):
        text = format(value, "f")
        return (text.rstrip("0").rstrip(".") if "." in text else text).replace("-0", "0") if value == 0 else text.rstrip("0").rstrip(".") if "." in text else text
    return json.dumps(value, ensure_ascii=False)


def compact(value):
    return "{" + ",".join(json.dumps(k, ensure_ascii=False) + ":" + compact(v) for k, v in value.items()) + "}" if isinstance(value, dict) else \
        "[" + ",".join(map(compact, value)) + "]" if isinstance(value, list) else canonical(value)


# Reading and writing.

def from_lines(text, say):
    report, finds, counted = None, [], None
    for line in text.splitlines():
        try:
            one = strict(line)
            kind = one["type"]
            if kind == "report" and report is None and not finds:
                report = one["report"]
            elif kind == "report":
                say("jsonl-report-line", "")
            elif kind == "find":
                finds.append(one["find"])
            elif kind == "end":
                counted = one.get("finds")
                break
        except (Refused, KeyError, TypeError):
            say("jsonl-line-unreadable", "")
    if report is None:
        say("jsonl-report-line", "")
    if counted != len(finds):
        say("jsonl-end-missing", "")
    return {**(report or {"findslip": "1.0"}), "finds": finds}


def read(text, form, limit=None):
    """A report, with what is said of it."""
    said = []
    report = from_lines(text, lambda code, at: said.append((code, at))) if form == "jsonl" else strict(text)
    if not isinstance(report, dict) or not re.fullmatch(r"1\.\d+", str(report.get("findslip", ""))):
        raise Refused("version-unknown", "this is no report of a version 1")
    if limit and len(report.get("finds", [])) > limit:
        raise Refused("", "more finds than the limit allows")
    return report, said


def fill(report, said):
    """Values beside the words of depths, sizes, weights and counts (4.1), and the usual radius of a method (4.2-7)."""
    for i, f in enumerate(report.get("finds", [])):
        places = [("depth", "length", f.get("depth")), ("weight", "weight", f.get("weight")), ("count", "count", f.get("count"))]
        places += [("dimensions/" + side, "length", q) for side, q in f.get("dimensions", {}).items() if isinstance(q, dict)]
        for at, kind, q in places:
            if q and "verbatim" in q and "min" not in q and "max" not in q:
                got = length.read(q["verbatim"], kind, None, None, False)
                factor = 10 if at.startswith("dimensions") else 1
                if "error" not in got and "absent" not in got and "notices" not in got:
                    q.update({k: decimal.Decimal(str(v)) * factor if isinstance(v, NUMBER) and not isinstance(v, bool) else "mm" if k == "unit" and factor > 1 else v
                              for k, v in got.items() if k in ("min", "max", "best", "unit", "said", "resolution", "approximate")})
        for m in f.get("materials", []):
            if "code" not in m and WORDS.get(folded(m.get("verbatim", ""))):
                m["code"], m["certainty"] = WORDS[folded(m["verbatim"])]
                if not m["certainty"]:
                    del m["certainty"]
        p = f.get("position", {})
        radius = METHODS.get(p.get("method", {}).get("code"))
        if "longitude" in p and "uncertainty" not in p and radius:
            p["uncertainty"], p["uncertaintyBasis"] = decimal.Decimal(str(radius)), {"code": "method-default"}
            said.append(("uncertainty-assumed", f"/finds/{i}/position/uncertainty"))


def write(report, form):
    if form == "findslip":
        return canonical(ordered(report)) + "\n"
    head = {name: value for name, value in ordered(report).items() if name != "finds"}
    lines = [{"type": "report", "report": head}] + [{"type": "find", "find": f} for f in ordered(report).get("finds", [])]
    return "".join(compact(line) + "\n" for line in [*lines, {"type": "end", "finds": len(report.get("finds", []))}])
