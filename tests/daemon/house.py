"""What the tests of the whole daemon share: a house of its own for each test, in a fresh folder.

Everything runs on loopback and on pseudo-terminals, bounded in time; only processes started here are
ended.  The programs under test are found by RV_REEVED and RV_REEVE.
"""
import json
import os
import pathlib
import re
import shutil
import signal
import socket
import sqlite3
import subprocess
import tempfile
import threading
import time
import urllib.error
import urllib.request

REEVED = os.environ["RV_REEVED"]
REEVE = os.environ["RV_REEVE"]
SOURCE = pathlib.Path(os.environ["RV_SOURCE"])


def free_port():
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return s.getsockname()[1]


def wait_for(what, condition, seconds=20.0):
    """Until condition() is true; its value."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        value = condition()
        if value:
            return value
        time.sleep(0.02)
    raise AssertionError(f"not within {seconds} s: {what}")


class House:
    """A folder with a station, its instruments and a daemon."""

    def __init__(self, keep=bool(os.environ.get("KEEP"))):
        self.folder = pathlib.Path(tempfile.mkdtemp(prefix="reeve-test-"))
        self.keep = keep
        self.daemon = None
        self.rehearsal = None
        self.port = None
        self.log = []

    def __enter__(self):
        return self

    def __exit__(self, kind, *_):
        try:
            self.stop_daemon(signal.SIGKILL)
        finally:
            if self.rehearsal and self.rehearsal.poll() is None:
                self.rehearsal.kill()
                self.rehearsal.wait()
            if kind:
                print("".join(self.log[-60:]))
            if not self.keep:
                shutil.rmtree(self.folder, ignore_errors=True)

    def write(self, name, text):
        (self.folder / name).write_text(text, encoding="utf-8")
        return self.folder / name

    # ---- the instruments
    def lay_scenario(self, name, change=lambda text: text):
        """Copies a scenario's files; its ports move to free ones, the page's port to 0."""
        source = SOURCE / "tools/scenarios" / name
        self.base_port = free_port()
        for part in ("rig.yaml", "scenario.yaml", "station.yaml"):
            text = (source / part).read_text(encoding="utf-8")
            if part == "station.yaml":
                text = text.replace("port: 8750", "port: 0")
                text = change(text)
                lines = text.splitlines()
                ports = sorted({line.split("port: ")[1].split(",")[0] for line in lines
                                if "modbus-tcp" in line})
                for i, port in enumerate(ports):
                    text = text.replace(f"port: {port},", f"port: {self.base_port + i},")
            self.write(part, text)
        return self.folder / "station.yaml"

    def rehearse(self, *options):
        self.rehearsal = subprocess.Popen(
            [REEVE, "rehearse", str(self.folder / "scenario.yaml"), "--wires",
             str(self.folder / "wires"), "--base-port", str(self.base_port), "--json", *options],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=self.folder)

    def end_rehearsal(self):
        """Stops the instruments; their tally."""
        self.rehearsal.send_signal(signal.SIGTERM)
        out, err = self.rehearsal.communicate(timeout=20)
        assert self.rehearsal.returncode == 0, err
        return json.loads(out)

    # ---- the daemon
    def start_daemon(self, preload=None, seconds=20.0, environment=None):
        env = dict(os.environ, **(environment or {}))
        if preload:
            env["LD_PRELOAD"] = preload
            # A build with the address sanitizer wants to be the first of all libraries.
            env["ASAN_OPTIONS"] = env.get("ASAN_OPTIONS", "") + ":verify_asan_link_order=0"
        self.daemon = subprocess.Popen([REEVED, "-c", str(self.folder / "station.yaml")],
                                       stderr=subprocess.PIPE, text=True, env=env, cwd=self.folder)
        self.port = None

        def read(process):
            for line in process.stderr:
                self.log.append(line)
                if line.startswith("page: http://"):
                    self.port = int(line.rsplit(":", 1)[1].strip("/\n"))
        self.reader = threading.Thread(target=read, args=(self.daemon,), daemon=True)
        self.reader.start()
        wait_for("the page's address", lambda: self.port or self.daemon.poll() is not None, seconds)
        assert self.daemon.poll() is None, "the daemon left: " + "".join(self.log)

    def stop_daemon(self, number=signal.SIGTERM, seconds=20.0):
        if not self.daemon:
            return None
        if self.daemon.poll() is None:
            self.daemon.send_signal(number)
        status = self.daemon.wait(timeout=seconds)
        self.reader.join(timeout=5)
        self.daemon = None
        # In a sanitizer build a finding fails the test, whatever became of the daemon.
        said = "".join(self.log)
        assert not re.search(r"WARNING: ThreadSanitizer|ERROR: \w+Sanitizer|: runtime error:", said), said
        return status

    # ---- the page's side
    def ask(self, path, body=None, method=None, headers=None, seconds=15.0):
        """(status, JSON) of a request."""
        request = urllib.request.Request(f"http://127.0.0.1:{self.port}{path}")
        if body is not None:
            request.data = json.dumps(body).encode()
            request.add_header("Content-Type", "application/json")
        if method:
            request.method = method
        for name, value in (headers or {}).items():
            request.add_header(name, value)
        try:
            with urllib.request.urlopen(request, timeout=seconds) as answer:
                return answer.status, json.loads(answer.read() or b"null")
        except urllib.error.HTTPError as error:
            text = error.read()
            return error.code, json.loads(text) if text.startswith(b"{") else text.decode()

    def live(self):
        status, live = self.ask("/api/live")
        assert status == 200, (status, live)
        return live

    def wait_live(self, what, condition, seconds=20.0):
        """Until a snapshot fulfils the condition; that snapshot."""
        def look():
            live = self.live()
            return live if condition(live) else None
        return wait_for(what, look, seconds)

    def stream(self, seconds=60.0):
        """Yields (arrival on the monotonic clock, snapshot)."""
        sock = socket.create_connection(("127.0.0.1", self.port), timeout=seconds)
        sock.sendall(f"GET /api/stream HTTP/1.1\r\nHost: 127.0.0.1:{self.port}\r\n\r\n".encode())
        pending = b""
        with sock:
            while True:
                chunk = sock.recv(65536)
                arrival = time.monotonic()
                if not chunk:
                    return
                pending += chunk
                while b"\n\n" in pending:
                    event, pending = pending.split(b"\n\n", 1)
                    start = event.find(b"data: {")
                    if start >= 0:
                        live = json.loads(event[start + 6:].split(b"\n")[0])
                        if "channels" in live:  # heartbeats are events too
                            yield arrival, live

    # ---- the record
    def record(self):
        name = next(line.split(":", 1)[1].split("#")[0].strip()
                    for line in (self.folder / "station.yaml").read_text().splitlines()
                    if line.startswith("record:"))
        return self.folder / name

    def query(self, sql, *args):
        connection = sqlite3.connect(f"file:{self.record()}?mode=ro", uri=True, timeout=10)
        try:
            return connection.execute(sql, args).fetchall()
        finally:
            connection.close()

    def reeve(self, *args, status=0):
        """Runs a command; its stdout."""
        done = subprocess.run([REEVE, *map(str, args)], capture_output=True, text=True, timeout=120,
                              cwd=self.folder, check=False)
        assert done.returncode == status, (args, done.returncode, done.stdout, done.stderr)
        return done.stdout if status == 0 else done.stderr


def channel(live, name):
    return next(c for c in live["channels"] if c["name"] == name)


def alarm(live, name):
    return next((a for a in live["alarms"] if a["name"] == name), None)


def main(tests):
    """Runs the tests one by one; closes with the plain line that the tally reads."""
    passed = failed = 0
    import sys
    wanted = sys.argv[1:]
    for test in tests:
        if wanted and test.__name__ not in wanted:
            continue
        start = time.monotonic()
        try:
            test()
            passed += 1
            print(f"ok      {test.__name__} ({time.monotonic() - start:.1f} s)", flush=True)
        except Exception as error:  # pylint: disable=broad-except
            import traceback
            traceback.print_exc()
            failed += 1
            print(f"FAILED  {test.__name__}: {error}", flush=True)
    print(f"{passed} passed, {failed} failed")
    sys.exit(1 if failed or not passed else 0)
