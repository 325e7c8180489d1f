"""Writes Findslip Simple (schema/spec/simple.md). Standard library only.

    python3 simple.py              prints a report with two finds
    python3 simple.py conformance  answers the conformance suite
"""
import datetime
import json
import sys
import uuid


def find(a):
    """One find, of the answers of a form: texts, numbers or nothing. The order is that of the format."""
    has = lambda name: a.get(name) not in (None, "")
    if not has("number") and not has("name"):
        raise ValueError("a find needs a number or a name")
    place = [has(name) for name in ("longitude", "latitude", "uncertainty")]
    if any(place) and not all(place):
        raise ValueError("a position is a longitude, a latitude and the radius that holds the spot")
    out = {"id": a.get("id") or "urn:uuid:" + str(uuid.uuid4())}
    if has("number"):
        out["number"] = a["number"]
    if has("finder"):
        out["finder"] = "person-1"
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
    """The report of all finds of one finder."""
    out = {"findslip": "1.0"}
    finders = [a["finder"] for a in answers if a.get("finder")]
    if len(set(finders)) > 1:
        raise ValueError("this sample writes for one finder")
    if finders:
        out["people"] = [{"id": "person-1", "handle": finders[0]}]
    out["finds"] = [find(a) for a in answers]
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
