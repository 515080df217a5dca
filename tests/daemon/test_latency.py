#!/usr/bin/python3
"""From the byte on the wire to the alarm on the stream, with the disk quiet and with it stalled.

usage: test_latency.py [OVERLOADS]   prints median, 99th percentile and most; what is asserted is only
that every overload arrives while the disk is still stalled.
"""
import json
import os
import signal
import sys
import threading
import time

import house
import peer

OVERLOADS = int(os.environ.get("RV_OVERLOADS", "40"))


def figures(delays):
    delays = sorted(delays)
    return {"median_ms": round(1000 * delays[len(delays) // 2], 2),
            "p99_ms": round(1000 * delays[min(len(delays) - 1, int(0.99 * len(delays)))], 2),
            "most_ms": round(1000 * delays[-1], 2), "overloads": len(delays)}


def measure(home, cells, overloads):
    """Delays from the byte to the first snapshot that shows the danger."""
    shown = {}
    change = threading.Condition()

    def listen():
        for arrival, live in home.stream():
            over = house.alarm(live, "line over limit")
            active = bool(over) and over["state"] in ("unacknowledged", "acknowledged")
            with change:
                if shown.get("active") != active:
                    shown.update(active=active, at=arrival)
                    change.notify_all()
                if shown.get("end"):
                    return

    def await_state(active, seconds=10.0):
        with change:
            assert change.wait_for(lambda: shown.get("active") == active, seconds), (
                f"the alarm did not become {active}")
            return shown["at"]

    listener = threading.Thread(target=listen, daemon=True)
    listener.start()
    await_state(False)
    delays = []
    for i in range(overloads):
        start = cells.set(L=16000.0 + i % 7, D=15200.0)
        delays.append(await_state(True) - start)
        cells.set(L=5000.0, D=4750.0)
        await_state(False)
    with change:
        shown["end"] = True
    return delays


def overload_waits_for_no_disk():
    with house.House() as home:
        home.write("station.yaml", peer.STATION)
        home.write("rig.yaml", peer.RIG)
        wire = peer.Wire(home.folder / "cells")
        cells = peer.Cells(wire, L=5000.0, D=4750.0)
        stall = home.folder / "stall"
        home.start_daemon(preload=os.environ["RV_STALLED_DISK"],
                          environment={"RV_STALL_FILE": str(stall)})
        home.wait_live("live cells", lambda live: house.channel(live, "lead")["value"])
        quiet = measure(home, cells, OVERLOADS)
        stall.touch()
        # The record is told to be failing once the disk has been silent for a while.
        home.wait_live("record failing", lambda live: house.alarm(live, "record"))
        stalled = measure(home, cells, OVERLOADS)
        assert stall.exists()
        stall.unlink()
        home.wait_live("recording again", lambda live: (
            not house.alarm(live, "record") or
            house.alarm(live, "record")["state"].startswith(("returned", "latched"))))
        cells.stop()
        print(json.dumps({"disk": "quiet", **figures(quiet)}))
        print(json.dumps({"disk": "stalled", **figures(stalled)}))
        assert home.stop_daemon() == 0
        lines, _ = cells.lines, wire
        rows = home.query("SELECT count(*) FROM narrow")[0][0]
        assert rows <= lines and rows >= lines - 60, (rows, lines)


if __name__ == "__main__":
    if len(sys.argv) > 1 and sys.argv[1].isdigit():
        OVERLOADS = int(sys.argv.pop(1))
    signal.signal(signal.SIGPIPE, signal.SIG_DFL)
    house.main([overload_waits_for_no_disk])
