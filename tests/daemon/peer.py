"""A load cell and an encoder played by the test itself, byte by byte, on pseudo-terminals."""
import os
import threading
import time
import tty


class Wire:
    """A pseudo-terminal whose other end is at `path`."""

    def __init__(self, path):
        self.master, slave = os.openpty()
        tty.setraw(self.master)
        tty.setraw(slave)
        self.slave = slave
        if os.path.islink(path):
            os.unlink(path)
        os.symlink(os.ttyname(slave), path)

    def write(self, text):
        os.write(self.master, text.encode())

    def unplug(self):
        os.close(self.master)
        os.close(self.slave)


class Cells:
    """Writes a line "L <lead> D <dead>" in newtons every 20 ms until stopped; a change of a force is
    written at once and its instant kept."""

    def __init__(self, wire, **forces):
        self.wire = wire
        self.forces = dict(forces)
        self.lock = threading.Lock()
        self.silent = False
        self.running = True
        self.lines = 0
        self.thread = threading.Thread(target=self._run, daemon=True)
        self.thread.start()

    def _line(self):
        text = " ".join(f"{name} {force:.1f}" for name, force in self.forces.items()) + "\r\n"
        if not self.silent:
            self.wire.write(text)
            self.lines += 1

    def _run(self):
        while self.running:
            with self.lock:
                self._line()
            time.sleep(0.02)

    def set(self, **forces):
        """The instant, on the monotonic clock, just before the new line was written."""
        with self.lock:
            self.forces.update(forces)
            instant = time.monotonic()
            self._line()
        return instant

    def stop(self):
        self.running = False
        self.thread.join()


STATION = """
station: Test bench
record: bench.db
rig: rig.yaml
unit: kN
page: {listen: 127.0.0.1, port: 0}
runs: {open_above: 2 kN, close_after: 5 min}
devices:
  cells: {link: serial-text, path: cells, speed: 115200, frame: 8N1, line: '^L (?<lead>[-+.\\d]+) D (?<dead>[-+.\\d]+)$'}
channels:
  lead: {quantity: tension, cell: lead, device: cells, field: lead, unit: N, capacity: 30 kN}
  dead: {quantity: tension, cell: dead, device: cells, field: dead, unit: N, capacity: 30 kN}
alarms:
  line near limit: {component: any, above: 80 %, level: warning}
  line over limit: {component: any, above: 100 %, level: danger, action: "Stop hauling. Hold."}
"""

RIG = """
rig: two-part bench
points:
  deck: {at: [0, 0]}
  post: {at: [0, 0.5], wll: 40 kN}
  eye:  {at: [20, 0.25], moves_with: sledge}
loads:
  sledge: {travels: [-1, 0], resists: 15 kN}
winches:
  drum: {at: deck, rated: 30 kN}
blocks:
  eye block: {at: eye, efficiency: [0.93, 0.97], wll: 60 kN}
lines:
  rope: {path: [drum, eye block, post], wll: 15 kN, length: 60 m}
cells:
  lead: {in: rope, leg: 1}
  dead: {in: rope, leg: 2}
"""
