"""Validates reports of findings with programs that are not ours.

Each folder below the first argument has the sources (`procedures`) and the reports of one check of them: `findings.sarif`,
`findings.xml`, `findings.jsonl`, `findings.github` and `findings.md`. The second argument is the project's root.

- SARIF by the schema of the OASIS standard, with `jsonschema`.
- JUnit XML by the schema that Jenkins reads it with, with `lxml`.
- JSON by the schema that the project publishes, with `jsonschema`.
- Each format has the same findings: messages, places and edits are read back and compared, where a place is found in the
  file by the rules of the format and not by ours.
"""

import json
import re
import sys
import urllib.parse
from pathlib import Path

from jsonschema import Draft7Validator
from lxml import etree

ROOT = Path(sys.argv[2])
SARIF = Draft7Validator(json.loads((ROOT / "tests/report/sarif-schema-2.1.0.json").read_text()))
FINDING = json.loads((ROOT / "docs/finding.schema.json").read_text())
Draft7Validator.check_schema(FINDING)
FINDING = Draft7Validator(FINDING)
JUNIT = etree.XMLSchema(etree.parse(ROOT / "tests/report/junit-10.xsd"))

LEVELS = {"error": "error", "warning": "warning", "advice": "note"}
COMMANDS = {"error": "error", "warning": "warning", "advice": "notice"}


def check(condition, message):
    if not condition:
        raise AssertionError(message)


def offset(text, line, column):
    """The index of a position in code points, as SARIF (3.30.5) counts them with `unicodeCodePoints`."""
    lines = text.split("\n")
    return sum(len(each) + 1 for each in lines[: line - 1]) + column - 1


def message_text(message):
    """The text of a SARIF message without the escapes of 3.11.5 and 3.11.6."""
    text = message["text"].replace("{{", "{").replace("}}", "}")
    return re.sub(r"\\(.)", r"\1", text)


def expected_message(finding):
    help_text = finding["help"]
    return finding["message"] + (f"\nhelp: {help_text}" if help_text else "")


def read(folder, path):
    return (folder / path).read_bytes().decode("utf-8-sig", "replace")


def sarif_key(result):
    return (result["ruleId"], result["level"], message_text(result["message"]))


def check_sarif(folder, findings):
    log = json.loads((folder / "findings.sarif").read_text())
    errors = [error.message for error in SARIF.iter_errors(log)]
    check(not errors, errors)
    (run,) = log["runs"]
    check(run["columnKind"] == "unicodeCodePoints", run.get("columnKind"))
    rules = run["tool"]["driver"]["rules"]
    for rule in rules:
        for text in (rule["shortDescription"]["text"], rule["fullDescription"]["text"]):
            check(0 < len(text) <= 1024, rule["id"])
        for heading in ("## At the bench", "## Example", "## Fix"):
            check(heading in rule["help"]["markdown"], rule["id"])
    results = run["results"]
    key = lambda finding: (finding["rule"], LEVELS[finding["level"]], expected_message(finding))
    check(sorted(map(sarif_key, results)) == sorted(map(key, findings)), "not the same findings")
    fingerprints = [result["partialFingerprints"]["benchleaf/v1"] for result in results]
    check(len(set(fingerprints)) == len(results), "a fingerprint stands for two findings")
    check(set(fingerprints) == {finding["fingerprint"] for finding in findings}, "fingerprints")
    by_fingerprint = {finding["fingerprint"]: finding for finding in findings}
    levels = [result["level"] for result in results]
    order = ["error", "warning", "note"]
    check(levels == sorted(levels, key=order.index), "not the worst first")
    for result in results:
        check(rules[result["ruleIndex"]]["id"] == result["ruleId"], result["ruleIndex"])
        finding = by_fingerprint[result["partialFingerprints"]["benchleaf/v1"]]
        locations = result.get("locations", []) + result.get("relatedLocations", [])
        check(len(locations) == len(finding["places"]), "locations")
        for location, place in zip(locations, finding["places"]):
            physical = location["physicalLocation"]
            path = urllib.parse.unquote(physical["artifactLocation"]["uri"])
            check(path == place["path"], path)
            text, region = read(folder, path), physical["region"]
            start = offset(text, region["startLine"], region["startColumn"])
            end = offset(text, region["endLine"], region["endColumn"])
            marked = text[start:end].split("\n")[0].rstrip("\r")
            check(marked == place["marked"].removesuffix("…") or len(marked) > 300, (marked, place))
            label = location.get("message", {"text": ""})
            check(message_text(label) == place["label"], place)
        check_fix(folder, result, finding)


def check_fix(folder, result, finding):
    """The edits by lines and columns, and the edits by bytes, give the same text."""
    by_bytes = {}
    for edit in sorted(finding["edits"], key=lambda edit: -edit["start"]):
        data = by_bytes.setdefault(edit["path"], read(folder, edit["path"]).encode())
        by_bytes[edit["path"]] = data[: edit["start"]] + edit["replacement"].encode() + data[edit["end"] :]
    by_regions = {}
    for fix in result.get("fixes", []):
        check(fix["description"]["text"], "a fix says what it does")
        for change in fix["artifactChanges"]:
            path = urllib.parse.unquote(change["artifactLocation"]["uri"])
            text = read(folder, path)
            places = []
            for replacement in change["replacements"]:
                region = replacement["deletedRegion"]
                start = offset(text, region["startLine"], region["startColumn"])
                end = offset(text, region["endLine"], region["endColumn"])
                places.append((start, end, replacement["insertedContent"]["text"]))
            for start, end, new in sorted(places, reverse=True):
                text = text[:start] + new + text[end:]
            by_regions[path] = text.encode()
    check(by_bytes == by_regions, "the fix is not that of the finding")


def check_junit(folder, findings):
    tree = etree.parse(folder / "findings.xml")
    check(JUNIT.validate(tree), JUNIT.error_log)
    root = tree.getroot()
    failures = root.findall(".//failure")
    errors = [finding for finding in findings if finding["level"] == "error"]
    check(bool(failures) == bool(errors), "failures")
    check(root.get("failures") == str(len(failures)), root.attrib)
    check(root.get("tests") == str(len(root.findall(".//testcase"))), root.attrib)
    text = "".join(root.itertext())
    for finding in findings:
        check(f"rule: {finding['rule']}\n" in text, finding["rule"])
    for suite in root.findall("testsuite"):
        names = [(case.get("classname"), case.get("name")) for case in suite.findall("testcase")]
        check(len(set(names)) == len(names), f"two cases have the same name: {names}")


def unescaped(text, pairs):
    for escape, letter in pairs:
        text = text.replace(escape, letter)
    return text


DATA = [("%0D", "\r"), ("%0A", "\n"), ("%25", "%")]
PROPERTY = [("%3A", ":"), ("%2C", ","), *DATA]


def check_github(folder, findings):
    lines = (folder / "findings.github").read_text().splitlines()
    found = {"error": [], "warning": [], "notice": []}
    for line in lines:
        command = re.fullmatch(r"::(error|warning|notice) ([^:]*)::(.*)", line)
        check(command, line)
        level, properties, data = command.groups()
        properties = dict(item.split("=", 1) for item in properties.split(","))
        properties = {key: unescaped(value, PROPERTY) for key, value in properties.items()}
        found[level].append((properties, unescaped(data, DATA)))
    total = found["notice"].pop()
    check(total[0] == {"title": "benchleaf"}, total)
    for level, command in COMMANDS.items():
        wanted = [finding for finding in findings if finding["level"] == level]
        shown = found[command]
        most = 9 if command == "notice" else 10
        check(len(shown) == min(len(wanted), most), (level, len(shown)))
        for (properties, data), finding in zip(shown, wanted):
            check(data.startswith(expected_message(finding)), data)
            check(properties["title"] == finding["rule"], properties)
            if finding["places"]:
                place = finding["places"][0]
                check(properties["file"] == place["path"], properties)
                check(properties["line"] == str(place["line"]), properties)


def check_markdown(folder, findings):
    text = (folder / "findings.md").read_text()
    rows = [line for line in text.splitlines() if line.startswith("| ")][2:]
    check(len(rows) == min(len(findings), 10), rows)
    for row in rows:
        cells = re.split(r"(?<!\\)\|", row)
        check(len(cells) == 6, row)


def check_folder(folder):
    findings = [json.loads(line) for line in (folder / "findings.jsonl").read_text().split("\n") if line]
    for finding in findings:
        errors = [error.message for error in FINDING.iter_errors(finding)]
        check(not errors, errors)
    check_sarif(folder, findings)
    check_junit(folder, findings)
    check_github(folder, findings)
    check_markdown(folder, findings)
    return len(findings)


def main():
    folders = sorted(Path(sys.argv[1]).iterdir())
    total = 0
    for folder in folders:
        try:
            total += check_folder(folder)
        except AssertionError as error:
            sys.exit(f"{folder.name}: {error}")
    print(f"{len(folders)} checks, {total} findings")


main()
