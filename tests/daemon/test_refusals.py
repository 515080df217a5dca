#!/usr/bin/python3
"""Bad starts: each a clear error and exit 1, nothing overwritten.  Then faults while running."""
import json
import os
import socket
import sqlite3
import subprocess
import time

import house
import peer


def refused(home, *words, culprit="station.yaml"):
    """The daemon leaves with 1 and says all the words."""
    done = subprocess.run([house.REEVED, "-c", str(home.folder / culprit)], capture_output=True,
                          text=True, timeout=20, cwd=home.folder, check=False)
    assert done.returncode == 1, (done.returncode, done.stderr)
    for word in words:
        assert word in done.stderr, (word, done.stderr)
    return done.stderr


def a_bad_station_is_told_by_file_line_and_column():
    with house.House() as home:
        home.write("rig.yaml", peer.RIG)
        home.write("station.yaml", peer.STATION.replace("unit: kN", "unti: kN"))
        refused(home, "station.yaml:5:1:", "unti", "unit")
        home.write("station.yaml", peer.STATION)
        home.write("rig.yaml", peer.RIG.replace("eye block, post]", "eye blok, post]"))
        refused(home, "rig.yaml:14:", "eye blok")
        home.write("rig.yaml", peer.RIG.replace("wll: 15 kN, length", "wll: 1500 kg, mbs: 3, length"))
        refused(home, "rig.yaml:14:")
        os.unlink(home.folder / "rig.yaml")
        refused(home, "rig.yaml", "No such file")


def a_check_tells_a_rig_that_cannot_be_solved():
    """The daemon would start and log the cells; who checks wants to know."""
    with house.House() as home:
        home.write("station.yaml", peer.STATION)
        station = str(home.folder / "station.yaml")
        for label, rig, code, words in (
                ("solved", peer.RIG, 0, ()),
                ("pulled away", peer.RIG.replace("travels: [-1, 0]", "travels: [1, 0]"), 1,
                 ("rig.yaml:", "sledge"))):
            home.write("rig.yaml", rig)
            done = subprocess.run([house.REEVE, "check", station], capture_output=True, text=True,
                                  timeout=20, check=False)
            assert done.returncode == code, (label, done)
            assert "sledge" in done.stdout, (label, done)
            assert all(word in done.stderr for word in words), (label, done)
            done = subprocess.run([house.REEVE, "check", "--json", station], capture_output=True,
                                  text=True, timeout=20, check=False)
            told = json.loads(done.stdout)
            assert done.returncode == code and list(told)[-2:] == ["found", "probe"], (label, done)
            assert (told["refused"] or {}).get("code") == (code and "LOAD_NOT_PULLED" or None), told
        home.write("rig.yaml", peer.RIG.replace("post]", "pots]"))
        done = subprocess.run([house.REEVE, "check", "--json", station], capture_output=True,
                              text=True, timeout=20, check=False)
        told = json.loads(done.stdout)["refused"]
        assert (done.returncode, told["code"], told["line"]) == (1, "NAME_UNKNOWN", 14), done
        assert told["file"].endswith("rig.yaml") and "pots" in told["text"], told


def a_strange_record_is_left_as_it_is():
    with house.House() as home:
        home.write("rig.yaml", peer.RIG)
        home.write("station.yaml", peer.STATION)
        record = home.folder / "bench.db"
        for label, make in (("text", lambda: record.write_text("my notes\n" * 1000)),
                            ("foreign", lambda: foreign(record)),
                            ("newer", lambda: newer(home, record))):
            if record.exists():
                record.unlink()
            make()
            before = record.read_bytes()
            refused(home, "bench.db")
            assert record.read_bytes() == before, label


def foreign(record):
    connection = sqlite3.connect(record)
    connection.execute("CREATE TABLE cheese(kind)")
    connection.commit()
    connection.close()


def newer(home, record):
    wire = peer.Wire(home.folder / "cells")
    home.start_daemon()
    home.stop_daemon()
    wire.unplug()
    connection = sqlite3.connect(record)
    connection.execute("PRAGMA journal_mode=DELETE")
    connection.execute("PRAGMA user_version=999")
    connection.commit()
    connection.close()


def a_folder_that_cannot_be_written_is_told():
    if os.geteuid() == 0:
        with house.House() as home:
            home.write("rig.yaml", peer.RIG)
            home.write("station.yaml", peer.STATION.replace("bench.db", "nowhere/bench.db"))
            refused(home, "nowhere/bench.db")


def a_second_daemon_is_refused():
    with house.House() as home:
        home.write("rig.yaml", peer.RIG)
        home.write("station.yaml", peer.STATION)
        wire = peer.Wire(home.folder / "cells")
        cells = peer.Cells(wire, L=5000.0, D=4750.0)
        home.start_daemon()
        refused(home, "bench.db")
        home.wait_live("live cells", lambda live: house.channel(live, "lead")["value"])
        cells.stop()


def a_taken_page_port_is_told():
    with house.House() as home, socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen(1)
        home.write("rig.yaml", peer.RIG)
        home.write("station.yaml",
                   peer.STATION.replace("port: 0", f"port: {taken.getsockname()[1]}"))
        refused(home, "in use")


TWO_WIRES = peer.STATION.replace(
    "channels:", """  other: {link: serial-text, path: other, speed: 9600, frame: 8N1, line: '^L (?<lead>[-+.\\d]+) D (?<dead>[-+.\\d]+)$'}
channels:
  spare: {quantity: tension, device: other, field: lead, unit: N, capacity: 30 kN}""")


def a_wire_that_goes_disturbs_no_other():
    """Noise, then unplug and replug behind the same path: one channel suffers, the other does not."""
    with house.House() as home:
        home.write("rig.yaml", peer.RIG)
        home.write("station.yaml", TWO_WIRES)
        wire, other = peer.Wire(home.folder / "cells"), peer.Wire(home.folder / "other")
        cells = peer.Cells(wire, L=5000.0, D=4750.0)
        spare = peer.Cells(other, L=100.0, D=0.0)
        home.start_daemon()
        home.wait_live("all live", lambda live: live["data"] == "all")
        other.write("\x00\xff rubbish\r\nL 12 D")
        other.write(" half\r\n")
        time.sleep(0.3)
        spare.silent = True
        live = home.wait_live("measurement lost", lambda live: house.alarm(live, "spare lost"))
        assert live["data"] == "some" and house.channel(live, "spare")["value"] is None
        assert house.channel(live, "lead")["value"] is not None
        spare.silent = False
        home.wait_live("back", lambda live: live["data"] == "all")
        spare.stop()
        other.unplug()
        live = home.wait_live("device lost", lambda live: house.alarm(live, "other lost"))
        assert house.channel(live, "lead")["value"] is not None
        again = peer.Wire(home.folder / "other")
        spare = peer.Cells(again, L=200.0, D=0.0)
        home.wait_live("found again", lambda live: house.channel(live, "spare")["value"] == 200.0)
        assert home.stop_daemon() == 0
        garbled = home.query("SELECT coalesce(sum(count), 0) FROM device_event "
                             "WHERE what = 'lost' AND cause = 'garbled'")[0][0]
        assert garbled >= 2, garbled
        lead_gaps = home.query("SELECT count(*) FROM quality_span q JOIN channel c ON "
                               "c.id = q.channel WHERE c.name = 'lead' AND q.quality = 'bad'")
        assert lead_gaps[0][0] <= 1, lead_gaps  # at most the moment before the first reading
        cells.stop()
        spare.stop()


if __name__ == "__main__":
    house.main([a_bad_station_is_told_by_file_line_and_column,
                a_check_tells_a_rig_that_cannot_be_solved, a_strange_record_is_left_as_it_is,
                a_folder_that_cannot_be_written_is_told, a_second_daemon_is_refused,
                a_taken_page_port_is_told, a_wire_that_goes_disturbs_no_other])
