#!/usr/bin/python3
"""What must never look calm: a parted line, a dead cell beside an overload, a brake that creeps."""
import house


def play(name):
    home = house.House()
    home.lay_scenario(name)
    home.rehearse()
    home.start_daemon()
    return home


def active(live, name):
    found = house.alarm(live, name)
    return found and found["state"] in ("unacknowledged", "acknowledged")


def ends_with(live, words):
    return [a for a in live["alarms"] if a["name"].endswith(words) and
            a["state"] in ("unacknowledged", "acknowledged")]


def a_line_that_parts_alarms():
    with play("line-parts") as home:
        live = home.wait_live("tension lost", lambda live: ends_with(live, "tension lost"), 60)
        found = ends_with(live, "tension lost")[0]
        assert found["level"] == "danger" and live["state"] == "danger", found
        assert live["data"] == "all", live["data"]


def a_dead_cell_hides_no_overload():
    with play("dead-cell-with-overload") as home:
        live = home.wait_live("overload beside a lost cell", lambda live: (
            live["data"] == "some" and live["state"] == "danger" and
            any(a["name"] == "line over limit" for a in live["alarms"])), 90)
        dead = [c for c in live["channels"] if c["quality"] == "bad"]
        assert dead and all(c["value"] is None for c in dead), dead
        assert dead[0]["cause"] == "frozen", dead[0]
        cell = next(c for c in live["cells"] if c["channel"] == dead[0]["name"])
        assert cell["measured_n"] is None and cell["low_n"] is not None, cell


def a_brake_that_creeps_alarms():
    with play("brake-creeps") as home:
        live = home.wait_live("creep", lambda live: ends_with(live, " creeps"), 90)
        found = ends_with(live, " creeps")[0]
        assert found["level"] == "danger" and live["state"] == "danger", found
        # Acknowledged, it is still there.
        status, _ = home.ask(f"/api/alarms/{found['name'].replace(' ', '%20')}/acknowledge", {})
        assert status == 200, status
        again = home.wait_live("acknowledged", lambda live: (house.alarm(live, found["name"]) or {}
                                                            ).get("state") == "acknowledged")
        assert again["state"] == "danger"


if __name__ == "__main__":
    house.main([a_line_that_parts_alarms, a_dead_cell_hides_no_overload,
                a_brake_that_creeps_alarms])
