#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every address of a real daemon answers as schema/api.yaml says: status, kind of content, and each key."""
import json
import urllib.error
import urllib.request

import jsonschema
import yaml

import house

DOCUMENT = yaml.safe_load((house.SOURCE / "schema/api.yaml").read_text(encoding="utf-8"))
RESOLVER = jsonschema.RefResolver.from_schema(DOCUMENT)


def follow(node):
    """What a $ref points at."""
    while "$ref" in node:
        node = RESOLVER.resolve(node["$ref"])[1]
    return node


def fits(schema, value, where):
    validator = jsonschema.Draft202012Validator(schema, resolver=RESOLVER)
    error = jsonschema.exceptions.best_match(validator.iter_errors(value))
    assert error is None, f"{where}: {error.json_path}: {error.message}"


class Asker:
    """Asks and compares; remembers which operations were asked well."""

    def __init__(self, home):
        self.home = home
        self.asked = set()

    def __call__(self, method, path, want, body=None, headers=None, **names):
        """The answer, whose status must be want and which must be as the document says."""
        at = path
        for name, value in names.items():
            at = at.replace("{%s}" % name, urllib.request.quote(str(value)))
        request = urllib.request.Request(f"http://127.0.0.1:{self.home.port}{at}", method=method)
        where = f"{method} {at}"
        operation = DOCUMENT["paths"][path][method.lower()]
        if body is not None:
            request.data = body if isinstance(body, bytes) else json.dumps(body).encode()
            request.add_header("Content-Type", "application/json")
        if body is not None and want < 300:
            schema = follow(operation["requestBody"])["content"]["application/json"]["schema"]
            fits(schema, body, f"the body of {where}")
        for name, value in (headers or {}).items():
            request.add_header(name, value)
        try:
            with urllib.request.urlopen(request, timeout=15) as answer:
                status, kind, text = answer.status, answer.headers["Content-Type"], answer.read()
        except urllib.error.HTTPError as error:
            status, kind, text = error.code, error.headers["Content-Type"], error.read()
        assert status == want, (where, status, text[:300])
        told = follow(operation["responses"][str(status)])
        if "content" not in told:
            assert not text, f"{where}: {status} has a body"
            return None
        kind = kind.split(";")[0]
        assert kind in told["content"], f"{where}: {status} came as {kind}"
        value = json.loads(text) if kind == "application/json" else text.decode()
        fits(told["content"][kind]["schema"], value, f"{where}: {status}")
        if status < 300:
            self.asked.add((method, path))
        return value


def look_at_stream(home, ask):
    """Whole events of both kinds."""
    told = DOCUMENT["paths"]["/api/stream"]["get"]["responses"]["200"]["content"]["text/event-stream"]
    seen = {}
    with urllib.request.urlopen(f"http://127.0.0.1:{home.port}/api/stream", timeout=15) as stream:
        assert stream.headers["Content-Type"] == "text/event-stream", stream.headers
        assert stream.readline() == b"retry: 500\n" and stream.readline() == b"\n"
        while min(seen.get(kind, 0) for kind in told["x-events"]) < 2:
            name, data, end = (stream.readline().decode() for _ in range(3))
            assert name.startswith("event: ") and data.startswith("data: ") and end == "\n", (name, end)
            kind = name[7:].strip()
            fits(told["x-events"][kind], json.loads(data[6:]), f"event {kind}")
            seen[kind] = seen.get(kind, 0) + 1
    ask.asked.add(("GET", "/api/stream"))


def begin(home):
    # No run shall open by itself between two questions.
    home.lay_scenario("yard-two-part", lambda text: text.replace("open_above: 2 kN", "open_above: 60 kN"))
    home.write("spoilt.yaml", "rig: spoilt\npoints: 3\n")
    home.rehearse()
    home.start_daemon()
    home.wait_live("all channels", lambda live: all(
        c["value"] is not None for c in live["channels"]))
    return Asker(home)


def change_something(home, ask):
    """Everything that can be wished; the number of the run that then holds a mark."""
    live = ask("GET", "/api/live", 200)
    if live["run"]:
        ask("POST", "/api/runs/{number}/stop", 200, {}, number=live["run"]["number"])
    number = ask("POST", "/api/runs", 201, {"name": "by the book"})["number"]
    ask("POST", "/api/runs", 409, {"name": "another"})
    ask("POST", "/api/runs", 422, {"nam": "x"})
    ask("POST", "/api/runs", 403, {}, {"Origin": "http://elsewhere.example"})
    ask("POST", "/api/runs", 422, b"{")
    ask("POST", "/api/marks", 201, {"text": "here", "travel_m": 1.5, "seen": {
        "boot": live["boot"], "start": live["start"], "run": number, "rig": live["rig_number"]}})
    ask("POST", "/api/marks", 409, {"text": "here", "seen": {"run": number + 7}})
    ask("POST", "/api/marks", 422, {"travel_m": 2})
    ask("POST", "/api/plan", 200, {"resist_n": 9000, "travel_m": 5})
    ask("POST", "/api/plan", 422, {"resist_n": {"nobody": 9000}})
    ask("POST", "/api/plan", 422, {"rig": "points: 3"})
    ask("POST", "/api/alarms/{name}/acknowledge", 404, {}, name="nothing")
    ask("POST", "/api/alarms/{name}/reset", 404, {}, name="nothing")
    ask("POST", "/api/runs/{number}/stop", 404, {}, number="x")
    strike = "/api/runs/{number}/pulls/{pull}/strike"
    ask("POST", strike, 404, {"reason": "kink"}, number=number, pull=99)
    ask("POST", strike, 404, {"reason": "kink"}, number=number + 50, pull=1)
    ask("POST", strike, 404, {"reason": "kink"}, number=number, pull="x")
    ask("POST", strike, 422, {}, number=number, pull=1)
    ask("POST", strike, 422, {"reason": ""}, number=number, pull=1)
    ask("POST", strike, 422, {"reason": "kink", "start": 1}, number=number, pull=1)
    ask("POST", strike, 403, {"reason": "kink"}, {"Origin": "http://elsewhere.example"}, number=number, pull=1)
    ask("POST", strike, 409, {"reason": "kink", "seen": {"run": number + 7}}, number=number, pull=1)
    return number


def every_address_answers_as_the_document_says():
    with house.House() as home:
        ask = begin(home)
        number = change_something(home, ask)
        ask("POST", "/api/runs/{number}/stop", 200, {}, number=number)
        for path, item in DOCUMENT["paths"].items():
            if "get" in item and path != "/api/stream":
                names = {"number": number} if "{number}" in path else {}
                ask("GET", path, 200, **names)
        look_at_stream(home, ask)
        ask("GET", "/api/runs/{number}", 404, number=number + 50)
        ask("GET", "/api/runs/{number}/estimate", 404, number=number + 50)
        ask("GET", "/api/live", 403, headers={"Host": "elsewhere.example"})
        run = ask("GET", "/api/runs/{number}", 200, number=number)
        assert run["marks"][0]["text"] == "here" and run["channels"], run
        rigs = ask("GET", "/api/rigs", 200)["rigs"]
        assert any(rig["error"] for rig in rigs) and any(rig["name"] for rig in rigs), rigs
        told = ask("PUT", "/api/rig", 200, {"rig": (home.folder / "rig.yaml").read_text().replace(
            "leg: 1", "leg: 2")})
        assert told["cells"]["moved"], told
        ask("PUT", "/api/rig", 404, {"file": "nowhere.yaml"})
        ask("PUT", "/api/rig", 422, {"file": "spoilt.yaml"})
        ask("PUT", "/api/rig", 409, {"own": True, "seen": {"rig": 77}})
        every = {("GET", path) for path, item in DOCUMENT["paths"].items() if "get" in item}
        assert every <= ask.asked, f"never asked: {every - ask.asked}"


def alarms_losses_and_gaps_are_told_as_the_document_says():
    with house.House() as home:
        ask = begin(home)
        number = ask("POST", "/api/runs", 201, {})["number"]
        home.wait_live("a pull", lambda live: live["pull"])
        ask("GET", "/api/live", 200)
        home.wait_live("the end of the pull", lambda live: not live["pull"], 40)
        home.end_rehearsal()
        name = home.wait_live("an alarm", lambda live: any(
            a["state"] == "unacknowledged" for a in live["alarms"]))["alarms"]
        name = next(a["name"] for a in name if a["state"] == "unacknowledged")
        ask("POST", "/api/alarms/{name}/acknowledge", 200, {}, name=name)
        ask("POST", "/api/alarms/{name}/reset", 409, {}, name=name)
        home.wait_live("lost devices", lambda live: live["data"] == "none")
        for path in ("/api/live", "/healthz", "/api/rig", "/api/runs"):
            ask("GET", path, 200)
        assert any(d["fault"] for d in ask("GET", "/api/devices", 200)["devices"])
        assert ask("GET", "/api/alarms", 200)["alarms"]
        run = ask("GET", "/api/runs/{number}", 200, number=number)
        assert run["pulls"] and run["alarms"] and run["gaps"], run


def without_a_rig_everything_still_answers_by_the_document():
    with house.House() as home:
        home.lay_scenario("yard-two-part", lambda text: text.replace("rig: rig.yaml\n", "").replace(
            "winch: drum, ", ""))
        home.rehearse()
        home.start_daemon()
        ask = Asker(home)
        home.wait_live("something", lambda live: live["channels"])
        assert ask("GET", "/api/rig", 200)["name"] is None
        ask("GET", "/api/rig.svg", 404)
        assert ask("GET", "/api/rigs", 200)["rigs"] == []
        ask("GET", "/api/live", 200)
        ask("POST", "/api/plan", 422, {})


if __name__ == "__main__":
    house.main([every_address_answers_as_the_document_says,
                alarms_losses_and_gaps_are_told_as_the_document_says,
                without_a_rig_everything_still_answers_by_the_document])
