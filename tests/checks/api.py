#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Holds schema/api.yaml against the routes that the daemon has: each must be in the document, and no other;
and the document against itself.  usage: api.py ROOT"""
import pathlib
import re
import sys

import jsonschema
import yaml

root = pathlib.Path(sys.argv[1])
METHODS = {"get", "post", "put", "patch", "delete"}
# What the guards may answer to whatever changes something.
CHANGE = {"400", "401", "403", "411", "413", "415", "422", "429", "503"}
faults = []


def routes_of_daemon():
    """(method, path) of the table in the API, of what the web side answers itself, and of the page."""
    found = set()
    entry = re.compile(r'\{"(\w+)", "(/[^"]*)", (?:NULL|"([^"]*)"), \w+\},?')
    table = re.search(r"routes\[\] = \{\n(.*?)\n\};",
                      (root / "daemon/api.c").read_text(encoding="utf-8"), re.S)
    for line in table.group(1).splitlines() if table else []:
        route = entry.fullmatch(line.strip())
        if not route:
            faults.append(f"daemon/api.c: this check does not understand the route {line.strip()}")
            continue
        method, head, tail = route.groups()
        found.add((method.lower(), head + ("{}" if head.endswith("/") else "") + (tail or "")))
    if not found:
        faults.append("daemon/api.c: there is no table of routes")
    for path in sorted((root / "daemon").glob("http*.c")):
        text = path.read_text(encoding="utf-8")
        for route in re.findall(r'strcmp\(request->path, "(/[^"]*)"\) == 0', text):
            found.add(("get", route))
    if "['/'," in (root / "web/meson.build").read_text(encoding="utf-8"):
        found.add(("get", "/"))
    return found


def operations(document):
    for path, item in document["paths"].items():
        for method, operation in item.items():
            if method in METHODS:
                yield method, path, operation
            else:
                faults.append(f"{path}: {method} is no method")


def references(node):
    if isinstance(node, dict):
        if isinstance(node.get("$ref"), str):
            yield node["$ref"]
        for value in node.values():
            yield from references(value)
    elif isinstance(node, list):
        for value in node:
            yield from references(value)


def place_of(parameter):
    """Where a parameter is written: in the path, or behind the question mark."""
    name = parameter.get("$ref", "").rsplit("/", 1)[-1]
    return document["components"]["parameters"].get(name, parameter).get("in")


def check_operation(method, path, operation):
    where = f"{method.upper()} {path}"
    answers = set(operation["responses"])
    if not operation.get("summary") or not operation.get("tags"):
        faults.append(f"{where}: says too little")
    if not any(status.startswith("2") for status in answers):
        faults.append(f"{where}: never answers well")
    if operation.get("security") and not CHANGE <= answers:
        faults.append(f"{where}: {', '.join(sorted(CHANGE - answers))} may come as well")
    if (method != "get" and path != "/api/plan") != bool(operation.get("security")):
        faults.append(f"{where}: what changes something needs the key, nothing else does")
    for status, answer in operation["responses"].items():
        if "$ref" not in answer and not answer.get("description"):
            faults.append(f"{where}: {status} is not described")
    named = set(re.findall(r"\{(\w+)\}", path))
    placed = [one for one in operation.get("parameters", []) if place_of(one) == "path"]
    if len(named) != len(placed):
        faults.append(f"{where}: its parameters are not those of the path")


def check_references(document):
    used = set(references(document))
    for kind, things in document["components"].items():
        for name in things:
            at = f"#/components/{kind}/{name}"
            if at not in used and kind != "securitySchemes":
                faults.append(f"{at} is used nowhere")
            used.discard(at)
    faults.extend(f"{at} is not there" for at in sorted(used))


def schemas_in(node, where=""):
    """(place, schema): those of the components and those that stand in answers and bodies."""
    if isinstance(node, dict):
        for key, value in node.items():
            if key == "schema":
                yield where, value
            else:
                yield from schemas_in(value, f"{where}/{key}")


def check_schemas(document):
    every = list(document["components"]["schemas"].items()) + list(schemas_in(document["paths"])) + list(
        schemas_in(document["components"]))
    for name, schema in every:
        try:
            jsonschema.Draft202012Validator.check_schema(schema)
        except jsonschema.SchemaError as error:
            faults.append(f"schema {name}: {error.message}")
        # A key that is required and not described, or described twice, is a slip.
        missing = set(schema.get("required", [])) - set(schema.get("properties", {}))
        if missing:
            faults.append(f"schema {name}: {', '.join(sorted(missing))} required, not described")


document = yaml.safe_load((root / "schema/api.yaml").read_text(encoding="utf-8"))
served = routes_of_daemon()
told = set()
for one in operations(document):
    told.add((one[0], re.sub(r"\{\w+\}", "{}", one[1])))
    check_operation(*one)
faults += [f"{m.upper()} {p} is served, not in schema/api.yaml" for m, p in sorted(served - told)]
faults += [f"{m.upper()} {p} is in schema/api.yaml, not served" for m, p in sorted(told - served)]
check_references(document)
check_schemas(document)
for fault in faults:
    print(fault)
print(f"{len(served)} routes and {len(document['components']['schemas'])} schemas looked at")
sys.exit(1 if faults else 0)
