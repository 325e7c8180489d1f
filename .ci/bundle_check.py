"""The bundled schema under the validator of Debian's python3-jsonschema. Usage: bundle_check.py VERDICTS"""
import json
import sys

import jsonschema

with open("schema/bundle/report.schema.json", encoding="utf-8") as f:
    schema = json.load(f)
jsonschema.Draft202012Validator.check_schema(schema)
valid = jsonschema.Draft202012Validator(schema, format_checker=jsonschema.FormatChecker())
wrong, count = 0, {True: 0, False: 0}
for line in open(sys.argv[1], encoding="utf-8"):
    name, ours = line.rstrip("\n").split("\t")
    try:
        with open(name, encoding="utf-8") as f:
            document = json.load(f)
    except ValueError:
        continue
    said = valid.is_valid(document)
    count[said] += 1
    # Without further packages it knows the format date, and not date-time and uri.
    formats = [e.validator for e in jsonschema.Draft202012Validator(schema).iter_errors(document)]
    if said != (ours == "true") and not (said and "moment-without-offset" in name):
        wrong += 1
        print(name, "ours", ours, "theirs", said, formats[:3])
print(f"python3-jsonschema: {count[True]} valid and {count[False]} refused, as ours")
sys.exit(wrong > 0 or count[False] < 20)
