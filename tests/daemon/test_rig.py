#!/usr/bin/python3
"""Another rig is laid on the ground while the daemon records."""
import house

OTHER = """rig: straight pull
points:
  deck: {at: [0, 0]}
  eye:  {at: [32, 0.3], moves_with: sledge}
loads:
  sledge: {travels: [-1, 0], resists: 8 kN}
winches:
  drum: {at: deck, rated: 25 kN}
lines:
  rope: {path: [drum, eye], wll: 15 kN}
cells:
  dead end: {in: rope, leg: 1}
"""


def another_rig_ends_the_run_and_stays_over_a_restart():
    with house.House() as home:
        home.lay_scenario("yard-two-part")
        home.write("other.yaml", OTHER)
        home.rehearse()
        home.start_daemon()
        home.wait_live("all channels", lambda live: all(
            c["value"] is not None for c in live["channels"]))
        number = (home.live()["run"] or {}).get("number")
        if number is None:
            status, made = home.ask("/api/runs", {"name": "with two parts"})
            assert status == 201, made
            number = made["number"]
        status, before = home.ask("/api/rig")
        assert status == 200 and before["plan"]["velocity_ratio"] > 1.9, before
        status, rigs = home.ask("/api/rigs")
        names = {rig["file"]: rig["name"] for rig in rigs["rigs"]}
        assert names["other.yaml"] == "straight pull" and "rig.yaml" in names, rigs
        status, plan = home.ask("/api/plan", {"rig": OTHER})
        assert status == 200 and abs(plan["winches"][0]["line_pull_n"] - 8000) < 10, plan
        assert home.ask("/api/rig")[1]["number"] == before["number"], "a plan changed the rig"
        status, told = home.ask("/api/rig", {"rig": "points: 3"}, method="PUT")
        assert status == 422 and told["error"]["line"] == 1, told

        status, told = home.ask("/api/rig", {"file": "other.yaml", "seen": {"rig": before["number"]}},
                                method="PUT")
        assert status == 200 and told["committed"], told
        assert told["ended_run"] == number, told
        assert [cell["name"] for cell in told["cells"]["moved"]] == ["dead end"], told
        assert sorted(told["cells"]["gone"]) == ["eye", "lead"], told
        status, told = home.ask("/api/rig", {"own": True, "seen": {"rig": before["number"]}}, method="PUT")
        assert status == 409 and told["error"]["code"] == "stale", told
        status, run = home.ask(f"/api/runs/{number}")
        assert status == 200 and run["rig"].startswith("two-part line"), run["rig"]
        assert home.ask("/api/rig")[1]["name"] == "straight pull"
        assert home.stop_daemon() == 0

        home.start_daemon()
        assert home.ask("/api/rig")[1]["name"] == "straight pull", "it is forgotten"
        status, told = home.ask("/api/rig", {"own": True}, method="PUT")
        assert status == 200 and told["name"].startswith("two-part line"), told
        assert home.stop_daemon() == 0
        home.start_daemon()
        assert home.ask("/api/rig")[1]["name"].startswith("two-part line")


if __name__ == "__main__":
    house.main([another_rig_ends_the_run_and_stays_over_a_restart])
