#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The estimate of a run over HTTP, and pulls that a person strikes: said, kept, taken back, never lost."""
import json
import random
import signal
import threading
import time

import house
import peer

EFFICIENCY = 0.95
STATION = peer.STATION.replace(
    "'^L (?<lead>[-+.\\d]+) D (?<dead>[-+.\\d]+)$'",
    "'^L (?<lead>[-+.\\d]+) D (?<dead>[-+.\\d]+) P (?<out>[-+.\\d]+)$'").replace(
    "capacity: 30 kN}", "capacity: 30 kN, gain_uncertainty: {standard: 0.2 %}, zero_uncertainty: {standard: 5 N}}").replace(
    "alarms:", "  out: {quantity: payout, winch: drum, device: cells, field: out, unit: m}\nalarms:")
STRIKE = "/api/runs/1/pulls/%d/strike"


class Winch:
    """Hauls HAULS times, 7 s each at 0.4 m/s, with rests; every 20 ms a line with both forces and the line out."""

    HAULS, SPEED_MPS, HAUL_S, REST_S = 4, 0.4, 7.0, 1.5

    def __init__(self, wire):
        self.wire = wire
        self.dice = random.Random(11)
        self.ended = self.running = False
        self.thread = threading.Thread(target=self._run, daemon=True)
        self.thread.start()

    def _line(self, at_s):
        each = self.HAUL_S + self.REST_S
        round_, in_round = divmod(at_s, each)
        hauled = max(0, min(round_, self.HAULS)) * self.HAUL_S
        moving = 0 <= round_ < self.HAULS and in_round > self.REST_S
        if 0 <= round_ < self.HAULS:
            hauled += max(0.0, in_round - self.REST_S)
        self.ended = round_ >= self.HAULS
        lead = 8000.0 * (1 + self.dice.gauss(0, 0.002))
        dead = lead * (EFFICIENCY + self.dice.gauss(0, 0.002) if moving else 0.985)
        self.wire.write(f"L {lead:.1f} D {dead:.1f} P {15.0 - hauled * self.SPEED_MPS:.4f}\r\n")

    def _run(self):
        begin = next_ = time.monotonic()
        self.running = True
        while self.running:
            self._line(time.monotonic() - begin - 1.0)
            next_ += 0.02
            time.sleep(max(0.0, next_ - time.monotonic()))

    def stop(self):
        self.running = False
        self.thread.join()


def haul(home):
    """A record with run 1: four hauls."""
    home.write("station.yaml", STATION)
    home.write("rig.yaml", peer.RIG)
    winch = Winch(peer.Wire(home.folder / "cells"))
    home.start_daemon()
    house.wait_for("the last haul", lambda: winch.ended, 60)
    time.sleep(1.5)
    status, answer = home.ask("/api/runs/1/stop", {})
    assert status == 200, (status, answer)
    return winch


def estimate(home, query=""):
    status, answer = home.ask("/api/runs/1/estimate" + query)
    assert status == 200, (status, answer)
    return answer


def by_command(home):
    """The same by the command, from the record as it lies on the disk."""
    return json.loads(home.reeve("estimate", "bench.db:1", "--json"))


def check_estimate(home):
    told = estimate(home)
    assert told["refused"] is None and told["mode"] == "hauls", told
    interval = told["efficiency"]
    assert interval["low_ratio"] < EFFICIENCY < interval["high_ratio"], interval
    assert [pull["kept"] for pull in told["pulls"]] == [True] * Winch.HAULS, told["pulls"]
    assert told["with_struck"] is None and told["budget"] and told["estimand"]
    assert by_command(home) == told
    return told


def check_asking(home):
    """What can be asked for, and what is no answer but a mistake of the asker."""
    cases = [
        ("?cells=lead,dead", 200), ("?excess=0,0.1", 200), ("?motion=payout", 200),
        ("?cells=lead", 422), ("?cells=lead,nobody", 422), ("?excess=0.3,0.1", 422),
        ("?excess=a,b", 422), ("?line_speed=-1", 422), ("?motion=guess", 422),
        ("?cell=lead,dead", 422), ("?motion=payout&motion=payout", 422), ("?line_speed=", 422),
    ]
    for query, want in cases:
        status, answer = home.ask("/api/runs/1/estimate" + query)
        assert status == want, (query, status, answer)
        assert status == 200 or answer["error"]["text"], (query, answer)
    # A way that the run does not have is refused inside the answer.
    told = estimate(home, "?motion=marks")
    assert told["refused"]["code"] == "speed_not_declared" and told["refused"]["cure"], told["refused"]
    assert told["efficiency"] is None


def check_striking(home, before):
    second = before["pulls"][1]
    for body, want, code in [
            ({"reason": "kink", "start_s": second["start_s"] + 9}, 409, "stale"),
            ({"reason": None}, 409, "not_struck"),
            ({"reason": "kink", "seen": {"start": "another"}}, 409, "stale"),
            ({}, 422, "missing"), ({"reason": ""}, 422, "range"), ({"reason": "x" * 200}, 422, "range"),
            ({"reason": 7}, 422, "syntax"), ({"reason": "a\nb"}, 422, "syntax")]:
        status, answer = home.ask(STRIKE % 2, body)
        assert status == want and answer["error"]["code"] == code, (body, status, answer)
    assert home.ask(STRIKE % 9, {"reason": "kink"})[0] == 404
    assert home.ask("/api/runs/8/pulls/1/strike", {"reason": "kink"})[0] == 404
    assert home.ask(STRIKE % 2, {"reason": "kink"}, headers={"Origin": "http://elsewhere.example"})[0] == 403
    assert home.ask(STRIKE % 2, {"reason": "kink"}, headers={"Host": "elsewhere.example"})[0] == 403
    assert home.query("SELECT count(*) FROM strike") == [(0,)]
    status, answer = home.ask(STRIKE % 2, {"reason": "the line kinked", "start_s": second["start_s"]})
    assert (status, answer) == (201, {"committed": True, "struck": True}), (status, answer)
    return estimate(home)


def check_struck(home, told, before):
    pull = told["pulls"][1]
    assert (pull["kept"], pull["struck"], pull["why"]) == (False, True, "the line kinked"), pull
    assert told["with_struck"] == {key: before["efficiency"][key]
                                   for key in ("ratio", "low_ratio", "high_ratio")}, told["with_struck"]
    assert told["efficiency"]["ratio"] != before["efficiency"]["ratio"]
    assert by_command(home) == told
    shown = json.loads(home.reeve("show", "bench.db:1", "--json"))["pulls"][1]
    assert (shown["kept"], shown["struck"], shown["why"]) == (False, True, "the line kinked"), shown


def a_struck_pull_is_left_out_and_both_results_are_told():
    with house.House() as home:
        winch = haul(home)
        before = check_estimate(home)
        check_asking(home)
        told = check_striking(home, before)
        # Acknowledged: a kill at once after it loses nothing.
        home.stop_daemon(signal.SIGKILL)
        home.start_daemon()
        check_struck(home, told, before)
        for k in (1, 3):
            assert home.ask(STRIKE % k, {"reason": "for a look"})[0] == 201
        refused = estimate(home)
        assert refused["efficiency"] is None and refused["refused"]["cure"], refused["refused"]
        for k in (1, 2, 3):
            status, answer = home.ask(STRIKE % k, {"reason": None})
            assert (status, answer["struck"]) == (201, False), (status, answer)
        after = estimate(home)
        assert after == before, (after, before)
        rows = home.query("SELECT pull, reason, by_whom FROM strike ORDER BY id")
        assert rows == [(2, "the line kinked", "this machine"), (1, "for a look", "this machine"),
                        (3, "for a look", "this machine"), (1, None, "this machine"),
                        (2, None, "this machine"), (3, None, "this machine")], rows
        assert home.stop_daemon() == 0
        winch.stop()


if __name__ == "__main__":
    house.main([a_struck_pull_is_left_out_and_both_results_are_told])
