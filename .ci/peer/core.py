"""Some rules, reports as whole files and Findslip Simple, written from SPEC.md, its parts and schema/spec/lookup/codes.md alone, as a partial implementation
of the conformance protocol: go run ./cmd/standard suite -- python3 -B .ci/peer/core.py"""

import base64
import importlib.util
import json
import re
import sys
import unicodedata

import report as files
from words import ROOT

spec = importlib.util.spec_from_file_location("simple", ROOT / "examples/simple/simple.py")
simple = importlib.util.module_from_spec(spec)
spec.loader.exec_module(simple)

PEOPLE = {"finder", "keeper", "by", "person", "from", "to", "grantedBy", "occupier", "people"}
FILES = ["jsonl-end-missing", "jsonl-report-line", "jsonl-line-unreadable", "version-unknown", "uncertainty-assumed", "json-syntax", "json-duplicate-name",
         "json-text-damaged", "json-number-out-of-range", "json-too-large", "schema-type", "schema-required", "schema-enum", "schema-pattern", "schema-range",
         "schema-forbidden", "schema-other"]
CODES = ["interval-reversed", "reference-unknown", "given-and-absent", "extension-undeclared", "number-repeated"]


def objects(value, at=""):
    """Every object in a value, with its pointer; maps whose names are free are not looked into."""
    if isinstance(value, dict):
        yield at, value
        for name, inner in value.items():
            if name not in ("columns", "extensions", "absent", "generalised", "says", "area", "excluded"):
                yield from objects(inner, at + "/" + name)
    elif isinstance(value, list):
        for i, inner in enumerate(value):
            yield from objects(inner, f"{at}/{i}")


def records(report):
    """The report itself, and each person, permission, outing and find."""
    yield "", report
    for part in ("people", "permissions", "outings", "finds"):
        for i, record in enumerate(report.get(part, [])):
            yield f"/{part}/{i}", record


def intervals(report):
    for at, o in objects(report):
        low, high, best = (o.get(name) for name in ("min", "max", "best"))
        if low is not None and high is not None and low > high:
            yield "interval-reversed", at
        elif best is not None and (low is not None and best < low or high is not None and best > high):
            yield "interval-reversed", at + "/best"
        if o.get("validFrom", "") > o.get("validTo", "9"):
            yield "interval-reversed", at + "/validTo"
        first, to, last = (o.get("date", "") if at.endswith("/found") else "").partition("/")
        length = min(len(first.rstrip("~?%")), len(last.rstrip("~?%")))
        if to and first[:length] > last[:length]:
            yield "interval-reversed", at + "/date"


def references(report):
    known = {part: {r.get("id") for r in report.get(part, [])} for part in ("people", "permissions", "outings")}
    for at, o in objects(report):
        top = at.split("/")[1:]
        opinions = set()
        if top[:1] == ["finds"]:
            opinions = {x.get("id") for x in report["finds"][int(top[1])].get("opinions", [])}
        for name, value in o.items():
            listed = known["people"] if name in PEOPLE else known["outings"] if name == "outing" else known["permissions"] if name == "permission" else None
            if name in ("follows", "withdraws"):
                listed = opinions
            if listed is None or top[:1] == ["accepted"] or name in ("from", "to") and not re.fullmatch("[a-z][a-z0-9-]{0,31}", str(value)):
                continue
            if isinstance(value, list) and all(isinstance(v, str) for v in value):
                yield from (("reference-unknown", f"{at}/{name}/{i}") for i, v in enumerate(value) if v not in listed)
            elif isinstance(value, str) and value not in listed:
                yield "reference-unknown", f"{at}/{name}"


def absences(report):
    for at, record in records(report):
        for pointer in record.get("absent", {}):
            value = record
            for name in pointer.split("/")[1:]:
                value = value.get(name.replace("~1", "/").replace("~0", "~")) if isinstance(value, dict) else None
            if value not in (None, "", [], {}) and value is not False:
                yield "given-and-absent", at + pointer


def prefixes(report):
    declared = {x.get("prefix") for x in report.get("extensionsUsed", [])}
    for at, record in records(report):
        if at == "" or at.startswith("/finds/"):
            yield from (("extension-undeclared", f"{at}/extensions/{name}") for name in record.get("extensions", {}) if name not in declared)


def folded(number):
    text = re.sub(r"\s+", " ", unicodedata.normalize("NFKC", number).strip()).lower()
    return re.sub(r"(?<!\d)0+(?=\d)", "", text)


def numbers(report):
    seen, ids = {}, {}
    for i, f in enumerate(report.get("finds", [])):
        if f.get("retracted") or not f.get("number"):
            continue
        same = ids.setdefault(f.get("id"), f)
        if same != f and f.get("id", "")[23:24] == "5":  # made from the number
            yield "number-repeated", f"/finds/{i}/number"
        key = (folded(f["number"]), f.get("finder"), f.get("permission"), f.get("source", {}).get("file"))
        if key in seen and f.get("id") != seen[key]:
            yield "number-repeated", f"/finds/{i}/number"
        seen.setdefault(key, f.get("id"))


def accepted(report, code, pointer):
    """Whether an entry of accepted silences a notice (6.5-1)."""
    parts = pointer.split("/")
    of = report["finds"][int(parts[2])].get("id") if parts[1] == "finds" else None
    for entry in report.get("accepted", []):
        if entry.get("code") == code and ("find" not in entry or entry["find"] == of) and \
                ("pointer" not in entry or entry["pointer"] == ("/" + "/".join(parts[3:]) if of else pointer)):
            return True
    return False


def validate(report, stopped):
    found = [*stopped, *files.faults(report, files.SCHEMAS["report"], files.SCHEMAS["report"])]
    if not found:  # rules pass over what breaks the schema
        found = [n for rule in (intervals, references, absences, prefixes, numbers) for n in rule(report) if not accepted(report, *n)]
    return {"output": {"json": {}}, "notices": [{"code": code, "pointer": pointer} for code, pointer in dict.fromkeys(found)]}


def content(given):
    return given["json"] if "json" in given else json.loads(given["text"])


def text(given):
    return json.dumps(given["json"]) if "json" in given else given["text"] if "text" in given else base64.b64decode(given["base64"])


def convert(asked, given):
    if set(asked) - {"from", "to", "name", "limit"} or {asked.get("from", "findslip"), asked["to"]} - {"findslip", "jsonl"}:
        return {"unsupported": "these options or formats"}
    try:
        report, said = files.read(text(given), asked.get("from", "findslip"), int(asked.get("limit", "finds=0").removeprefix("finds=")))
        files.fill(report, said)
    except files.Refused as why:
        return {"refused": {"code": why.code, "message": str(why)}}
    return {"output": {"text": files.write(report, asked["to"])}, "notices": [{"code": code, "pointer": at} for code, at in said]}


def schema(name, given):
    try:
        return {"output": {"json": {"valid": files.valid(files.strict(text(given)), name)}}}
    except files.Refused:
        return {"output": {"json": {"valid": False}}}


def answer(request):
    operation = request["operation"]
    if operation == "describe":
        claims = {"codes": CODES + FILES, "formats": ["findslip", "jsonl"]}
        return {"output": {"json": {"implementation": "peer", "version": "1", "protocol": "1", "operations": ["convert", "schema", "validate", "simple"], "claims": claims}}}
    if operation == "validate" and "base64" not in request["input"]:
        return validate(content(request["input"]), files.gated(text(request["input"])))
    if operation == "convert":
        return convert(request.get("options", {}), request["input"])
    if operation == "schema":
        return schema(request["options"]["schema"], request["input"])
    if operation == "simple":
        try:
            return {"output": {"json": simple.report(content(request["input"]))}}
        except ValueError as why:
            return {"refused": {"code": "", "message": str(why)}}
    return {"unsupported": "this input of " + operation}


if __name__ == "__main__":
    for line in sys.stdin:
        asked = json.loads(line)
        print(json.dumps({"id": asked["id"], **answer(asked)}), flush=True)
