"""Writes Findslip Simple (schema/spec/simple.md). Standard library only.

    python3 simple.py              prints a report with two finds
    python3 simple.py conformance  answers the conformance suite
"""
import datetime
import json
import re
import sys
import uuid


def find(a, finders):
    """One find, of the answers of a form: texts, numbers or nothing. The order is that of the format."""
    has = lambda name: a.get(name) not in (None, "")
    if not has("number") and not has("name"):
        raise ValueError("a find needs a number or a name")
    place = [has(name) for name in ("longitude", "latitude", "uncertainty")]
    if any(place) and not all(place):
        raise ValueError("a position is a longitude, a latitude and the radius that holds the spot")
    if all(place) and not (abs(a["longitude"]) <= 180 and abs(a["latitude"]) <= 90 and a["uncertainty"] > 0):
        raise ValueError("longitude and latitude are degrees, and the radius is above zero")
    out = {"id": a.get("id") or "urn:uuid:" + str(uuid.uuid4())}
    if not re.fullmatch("urn:uuid:[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", out["id"]):
        raise ValueError("an id is urn:uuid: and a UUID in small letters")
    if has("day") and not re.fullmatch("[0-9]{4}-[0-9]{2}-[0-9]{2}", a["day"]):
        raise ValueError("a day is written as 2026-04-12")
    if has("picture") and re.search(r"[/\\]", a["picture"]):
        raise ValueError("a picture lies beside the report: its name has no folder")
    if has("number"):
        out["number"] = a["number"]
    if has("finder"):
        out["finder"] = "person-%d" % (finders.index(a["finder"]) + 1)
    if has("day"):
        out["found"] = {"date": datetime.date.fromisoformat(a["day"]).isoformat()}
    if has("place"):
        out["place"] = {"name": a["place"]}
    if all(place):
        out["position"] = {name: a[name] for name in ("longitude", "latitude", "uncertainty")}
    if has("depth"):
        out["depth"] = {"verbatim": a["depth"]}
    if has("name"):
        out["name"] = a["name"]
    if has("material"):
        out["materials"] = [{"verbatim": a["material"]}]
    if has("weight"):
        out["weight"] = {"verbatim": a["weight"]}
    if has("picture"):
        out["media"] = [{"file": a["picture"]}]
    if has("notes"):
        out["notes"] = a["notes"]
    missing = {"/" + name: "not-measured" for name in ("depth", "weight") if name in a.get("notMeasured", []) and not has(name)}
    if missing:
        out["absent"] = missing
    return out


def report(answers):
    """The report of all finds; finders stand in the order of their first find."""
    out = {"findslip": "1.0"}
    finders = list(dict.fromkeys(a["finder"] for a in answers if a.get("finder")))
    if finders:
        out["people"] = [{"id": "person-%d" % i, "handle": handle} for i, handle in enumerate(finders, 1)]
    out["finds"] = [find(a, finders) for a in answers]
    if len({f["id"] for f in out["finds"]}) < len(answers):
        raise ValueError("two finds have one id")
    return out


SAMPLE = [
    {"id": "urn:uuid:b81d36df-7004-57a4-82e9-d934f7bad5d3", "number": "12a", "finder": "finder-a", "day": "2026-04-12", "place": "Long Furlong",
     "longitude": -1.2248, "latitude": 52.50655, "uncertainty": 5, "depth": "7-9 in", "name": "crotal bell", "material": "green metal",
     "picture": "12a.jpg", "notMeasured": ["weight"]},
    {"id": "urn:uuid:0d9f6a5e-3c1b-4f7a-9e52-6b8d1c4a7f30", "number": "13", "finder": "finder-a", "day": "2026-04-12", "place": "Long Furlong",
     "depth": "more than a foot", "name": "lead token", "weight": "6.25 g"},
]


def conformance():
    for line in sys.stdin:
        request = json.loads(line)
        answer = {"id": request["id"]}
        if request["operation"] == "describe":
            answer["output"] = {"json": {"implementation": "simple.py", "version": "1", "protocol": "1", "operations": ["simple"]}}
        elif request["operation"] != "simple":
            answer["unsupported"] = "the operation " + request["operation"]
        else:
            content = request["input"]
            try:
                answer["output"] = {"json": report(content["json"] if "json" in content else json.loads(content["text"]))}
            except ValueError as e:
                answer["refused"] = {"code": "", "message": str(e)}
        print(json.dumps(answer), flush=True)


if __name__ == "__main__":
    if sys.argv[1:] == ["conformance"]:
        conformance()
    else:
        print(json.dumps(report(SAMPLE), indent=2, ensure_ascii=False))
