#!/usr/bin/python3
"""What goes quiet must hide nothing: contactors, a zeroed cell, a log nobody reads; and runs that
open and close by themselves all the same."""
import fcntl
import os
import signal
import sqlite3
import subprocess
import threading
import time

import house
import peer

CONTACTS = """  contacts: {link: serial-text, path: contacts, speed: 115200, frame: 8N1, line: '^I (?<in>[01]) O (?<out>[01])$'}
channels:
  hauling: {quantity: switch, winch: drum, motion: in, device: contacts, field: in}
  paying: {quantity: switch, winch: drum, motion: out, device: contacts, field: out}
"""


def lay(home, station=lambda text: text, rig=lambda text: text, **forces):
    """A bench with its cells already talking."""
    home.write("station.yaml", station(peer.STATION).replace("close_after: 5 min",
                                                             "close_after: 2 s"))
    home.write("rig.yaml", rig(peer.RIG))
    return peer.Cells(peer.Wire(home.folder / "cells"), **(forces or {"L": 100, "D": 95}))


def state_of(live, name):
    found = house.alarm(live, name)
    return found["state"] if found else "normal"


def contactors_that_fall_silent_say_nothing():
    with house.House() as home:
        cells = lay(home, lambda text: text.replace("channels:\n", CONTACTS))
        contacts = peer.Cells(peer.Wire(home.folder / "contacts"), I=0, O=0)
        contacts._line = lambda: contacts.silent or contacts.wire.write(
            "I %d O %d\r\n" % (contacts.forces["I"], contacts.forces["O"]))
        home.start_daemon()
        home.wait_live("hold", lambda live: live["lines"][0]["motion"] == "hold")
        contacts.set(I=1)
        home.wait_live("hauling in", lambda live: live["lines"][0]["motion"] == "in")
        contacts.silent = True
        time.sleep(1.2)
        live = home.live()
        assert house.channel(live, "hauling")["value"] is None
        assert live["lines"][0]["motion"] is None, live["lines"]
        contacts.silent = False
        home.wait_live("hauling in again", lambda live: live["lines"][0]["motion"] == "in")
        contacts.stop()
        cells.stop()


def a_zeroed_cell_hides_no_overload():
    with house.House() as home:
        cells = lay(home, rig=lambda text: text.replace("rated: 30 kN", "rated: 12 kN").replace(
            "wll: 15 kN, ", ""), L=14000, D=13300)
        home.start_daemon()
        live = home.wait_live("overload", lambda live: live["state"] == "danger")
        assert state_of(live, "line over limit") == "unacknowledged", live["alarms"]
        cells.set(L=0)
        live = home.wait_live("zeroed", lambda live: state_of(live, "lead zeroed") != "normal")
        time.sleep(0.3)
        live = home.live()
        drum = next(c for c in live["components"] if c["name"] == "drum")
        assert drum["source"] == "predicted" and drum["high_n"] > 13000, drum
        assert state_of(live, "line over limit") == "unacknowledged", live["alarms"]
        assert live["weakest"]["name"] == "drum", live["weakest"]
        cells.stop()


def an_overload_of_another_part_calls_again():
    with house.House() as home:
        cells = lay(home, L=16000, D=15200)  # the rope bears 15 kN, the drum 30 kN
        home.start_daemon()
        home.wait_live("overload", lambda live: live["state"] == "danger")
        status, _ = home.ask("/api/alarms/line%20over%20limit/acknowledge", {})
        assert status == 200, status
        home.wait_live("acknowledged", lambda live: (
            state_of(live, "line over limit") == "acknowledged"))
        cells.set(L=16500, D=15600)
        time.sleep(0.3)
        assert state_of(home.live(), "line over limit") == "acknowledged"
        cells.set(L=31000, D=29000)
        home.wait_live("the drum's overload", lambda live: (
            state_of(live, "line over limit") == "unacknowledged"), 5)
        cells.stop()


def an_alarm_does_not_wait_for_a_log_nobody_reads():
    with house.House() as home:
        port = house.free_port()
        cells = lay(home, lambda text: text.replace("port: 0", f"port: {port}"))
        end, into = os.pipe()
        fcntl.fcntl(into, fcntl.F_SETPIPE_SZ, 4096)
        home.daemon = subprocess.Popen([house.REEVED, "-c", str(home.folder / "station.yaml")],
                                       stderr=into, cwd=home.folder)
        home.reader = threading.Thread(target=lambda: None)
        home.reader.start()
        home.port = port

        def answers():
            try:
                return home.live()["data"] == "all"
            except OSError:
                return False
        house.wait_for("the page", answers)
        for _ in range(60):  # each tells the log of an alarm, of some 80 bytes
            cells.set(L=16000, D=15200)
            home.wait_live("over", lambda live: state_of(live, "line over limit") in (
                "unacknowledged", "acknowledged"), 3)
            cells.set(L=100, D=95)
            home.wait_live("back", lambda live: state_of(live, "line over limit") ==
                           "returned unacknowledged", 3)
        begin = time.monotonic()
        home.daemon.send_signal(signal.SIGTERM)
        assert home.daemon.wait(timeout=10) == 0
        assert time.monotonic() - begin < 8
        os.close(into)
        os.close(end)
        cells.stop()


def a_run_needs_no_name_and_stopping_it_unloaded_costs_no_later_one():
    with house.House() as home:
        cells = lay(home)
        home.start_daemon()
        home.wait_live("all channels", lambda live: live["data"] == "all")
        status, answer = home.ask("/api/runs", {})
        assert status == 201, (status, answer)
        number = answer["number"]
        live = home.wait_live("the run", lambda live: live["run"], 3)
        assert live["run"]["name"] == f"run {number}", live["run"]
        status, answer = home.ask(f"/api/runs/{number}/stop", {})
        assert status == 200, (status, answer)
        time.sleep(0.3)
        cells.set(L=5000, D=4800)
        live = home.wait_live("a run by itself", lambda live: live["run"], 5)
        assert live["run"]["number"] == number + 1, live["run"]
        cells.stop()


def a_run_by_itself_closes_after_a_restart_without_load():
    with house.House() as home:
        cells = lay(home, L=5000, D=4800)
        home.start_daemon()
        home.wait_live("a run by itself", lambda live: live["run"])
        house.wait_for("its commit", lambda: home.query("SELECT * FROM run"))
        home.stop_daemon(signal.SIGKILL)
        cells.set(L=100, D=95)
        home.start_daemon()
        assert home.live()["run"], "a restart ends no open run"
        home.wait_live("the run's end", lambda live: live["run"] is None, 10)
        home.stop_daemon()
        assert home.query("SELECT ended FROM run") == [("no load",)]
        cells.stop()


def a_snatch_and_its_alarm_lie_inside_the_run_they_open():
    with house.House() as home:
        cells = lay(home)
        home.start_daemon()
        home.wait_live("all channels", lambda live: live["data"] == "all")
        cells.set(L=16000, D=15200)
        cells.set(L=3000, D=2850)
        home.wait_live("the alarm", lambda live: state_of(live, "line over limit") != "normal", 5)
        live = home.wait_live("a run by itself", lambda live: live["run"], 5)
        assert house.channel(live, "lead")["peak"] == 16000, live["channels"]
        home.stop_daemon()
        assert home.query("SELECT max(value) FROM reading WHERE run = 1") == [(16000,)]
        assert home.query("SELECT count(*) FROM alarm_event JOIN run ON t_us >= from_us WHERE "
                          "alarm = 'line over limit' AND state = 'unacknowledged'") == [(1,)]
        cells.stop()


def looking_through_a_long_record_holds_up_no_mark():
    with house.House() as home:
        cells = lay(home, L=5000, D=4800)
        home.start_daemon()
        house.wait_for("a run and a reading", lambda: home.query(
            "SELECT 1 FROM run, narrow LIMIT 1"))
        home.stop_daemon()
        with sqlite3.connect(home.record()) as record:
            stream, last = record.execute("SELECT stream, max(t_us) FROM narrow").fetchone()
            record.executemany("INSERT INTO narrow VALUES(?, ?, 5000.0, 4800.0, NULL, NULL)",
                               ((last + 1000 * (i + 1), stream) for i in range(600000)))
        record.close()
        home.start_daemon()
        done = []
        lists = [threading.Thread(target=lambda: done.append(home.ask("/api/runs", seconds=120)))
                 for _ in range(4)]
        for one in lists:
            one.start()
        time.sleep(0.2)
        status, _ = home.ask("/api/marks", {"text": "now"})
        early = len(done)
        for one in lists:
            one.join()
        assert status == 201 and len(done) == 4, (status, len(done))
        assert early < 3, "the mark waited for those who only look"
        cells.stop()


if __name__ == "__main__":
    house.main([contactors_that_fall_silent_say_nothing, a_zeroed_cell_hides_no_overload,
                an_overload_of_another_part_calls_again,
                an_alarm_does_not_wait_for_a_log_nobody_reads,
                a_run_needs_no_name_and_stopping_it_unloaded_costs_no_later_one,
                a_run_by_itself_closes_after_a_restart_without_load,
                a_snatch_and_its_alarm_lie_inside_the_run_they_open,
                looking_through_a_long_record_holds_up_no_mark])
