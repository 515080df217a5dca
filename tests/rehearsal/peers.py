#!/usr/bin/python3
"""The rehearsal's wires seen by programs that are not ours: pymodbus, mbpoll and pyserial.

usage: peers.py REEVE SCENARIO_DIRECTORY
Numbers are taken apart here by Python's struct module, not by code of the project.
"""
import json
import os
import re
import signal
import socket
import struct
import subprocess
import sys
import tempfile
import threading
import time

try:
    import serial
    from pymodbus.client import ModbusSerialClient, ModbusTcpClient
except ImportError as missing:
    print(f"skipped: {missing}")
    sys.exit(77)

REEVE, HERE = sys.argv[1], sys.argv[2]
NUMBERS = {
    "int16": (">h", -1234), "uint16": (">H", 54321), "int32": (">i", -123456789),
    "uint32": (">I", 3123456789), "float32": (">f", 1234.5625),
    "int64": (">q", -9007199254740991), "float64": (">d", -1234.5678),
}
ORDERS = ["abcd", "badc", "cdab", "dcba"]
passed = failed = 0


def check(label, good, detail=""):
    global passed, failed
    if good:
        passed += 1
    else:
        failed += 1
        print(f"FAILED: {label}: {detail}")


def quick(client, timeout_s):
    """pymodbus 3.0 rounds a timeout it is made with down to whole seconds."""
    client.params.timeout = timeout_s
    return client


def free_port(count):
    """The first of some neighbouring ports that are free now."""
    while True:
        held = []
        try:
            for i in range(count):
                one = socket.socket()
                one.bind(("127.0.0.1", 0 if not held else held[0].getsockname()[1] + i))
                held.append(one)
            return held[0].getsockname()[1]
        except OSError:
            continue
        finally:
            for one in held:
                one.close()


class Rehearsal:
    def __init__(self, scenario, ports):
        self.wires = tempfile.TemporaryDirectory(prefix="reeve-peers.")
        self.port = free_port(ports)
        self.process = subprocess.Popen(
            [REEVE, "rehearse", f"{HERE}/{scenario}.yaml", "--wires", self.wires.name,
             "--base-port", str(self.port), "--json"],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        for line in self.process.stderr:
            if line.startswith("playing "):
                self.begun = time.monotonic()
                return
        sys.exit("the rehearsal did not start")

    def wire(self, name):
        return f"{self.wires.name}/{name}"

    def wait_until(self, seconds):
        time.sleep(max(0, self.begun + seconds - time.monotonic()))

    def stop(self):
        self.process.send_signal(signal.SIGTERM)
        out, _ = self.process.communicate(timeout=10)
        check("it ends well when told to", self.process.returncode == 0, self.process.returncode)
        check("no link is left behind", os.listdir(self.wires.name) == [], os.listdir(self.wires.name))
        self.wires.cleanup()
        tally = json.loads(out)
        check("it says SIMULATED", tally["simulated"] is True)
        return {device["name"]: device for device in tally["devices"]}


def number_from(registers, kind, order):
    """The number in registers whose bytes lie in that order."""
    words = [struct.pack(">H", register) for register in registers]
    if order in ("badc", "dcba"):
        words = [word[::-1] for word in words]
    if order in ("cdab", "dcba"):
        words = words[::-1]
    return struct.unpack(NUMBERS[kind][0], b"".join(words))[0]


def read_all_numbers(label, read):
    requests = 0
    address = 0
    for kind, (form, number) in NUMBERS.items():
        for order in ORDERS:
            reply = read(address, struct.calcsize(form) // 2)
            requests += 1
            got = None if reply.isError() else number_from(reply.registers, kind, order)
            check(f"{label} {kind} {order}", got == number, f"got {got}, want {number}")
            address += 4
    return requests


def mbpoll(*words):
    done = subprocess.run(["mbpoll", "-q", "-0", "-1", *words], capture_output=True, text=True,
                          timeout=10)
    found = re.findall(r"^\[\d+\]:\s+(\S+)", done.stdout, re.M)
    return found[0] if found else done.stdout + done.stderr


def check_modbus(play):
    tcp = ModbusTcpClient("127.0.0.1", port=play.port, timeout=2)
    rtu = ModbusSerialClient(play.wire("rtu"), baudrate=115200, timeout=2)
    check("pymodbus opens both wires", tcp.connect() and rtu.connect())
    counts = {"tcp": 0, "rtu": 0}
    counts["tcp"] += read_all_numbers("tcp", lambda a, n: tcp.read_input_registers(a, n, slave=1))
    counts["rtu"] += read_all_numbers("rtu", lambda a, n: rtu.read_holding_registers(a, n, slave=3))

    whole = tcp.read_input_registers(0, 112, slave=1)
    check("a whole block", not whole.isError() and len(whole.registers) == 112, whole)
    bits = tcp.read_discrete_inputs(3, 2, slave=1).bits[:2]
    check("discrete inputs", bits == [False, True], bits)
    bit = tcp.read_holding_registers(7, 1, slave=1).registers
    check("one bit of a register", bit == [32], bit)
    tcp.write_coil(0, True, slave=1)
    coil = tcp.read_coils(0, 1, slave=1).bits[0]
    check("a coil keeps what is written", coil is True, coil)
    missing = tcp.read_input_registers(112, 1, slave=1)
    check("an address nobody declared", getattr(missing, "exception_code", 0) == 2, missing)
    stranger = tcp.read_input_registers(0, 1, slave=9)
    check("a unit that is not there", getattr(stranger, "exception_code", 0) == 11, stranger)
    counts["tcp"] += 7
    tcp.close()
    rtu.close()

    port = ["-m", "tcp", "-p", str(play.port), "-a", "1", "127.0.0.1", "-c", "1"]
    line = ["-m", "rtu", "-b", "115200", "-P", "none", "-a", "3", play.wire("rtu"), "-c", "1"]
    for label, got, want in [
        ("mbpoll tcp float abcd", mbpoll("-r", "64", "-t", "3:float", "-B", *port), "1234.56"),
        ("mbpoll tcp float cdab", mbpoll("-r", "72", "-t", "3:float", *port), "1234.56"),
        ("mbpoll tcp int abcd", mbpoll("-r", "32", "-t", "3:int", "-B", *port), "-123456789"),
        ("mbpoll rtu int cdab", mbpoll("-r", "40", "-t", "4:int", *line), "-123456789"),
        ("mbpoll rtu uint16", mbpoll("-r", "16", "-t", "4", *line), "54321"),
    ]:
        check(label, got == want, f"got {got}, want {want}")
    counts["tcp"] += 3
    counts["rtu"] += 2
    return counts


class Listener(threading.Thread):
    """Takes down all that is said on a wire until the other end is pulled out."""

    def __init__(self, path):
        super().__init__()
        # Not by pyserial: it throws away what came between opening and setting up.
        self.port = os.open(path, os.O_RDONLY | os.O_NOCTTY)
        self.text = b""
        self.start()

    def run(self):
        try:
            while more := os.read(self.port, 4096):
                self.text += more
        except OSError:
            pass
        os.close(self.port)

    def lines(self):
        self.join(10)
        return self.text.split(b"\n")[:-1]


def check_talk(listener):
    lines = listener.lines()
    check("it talks", len(lines) > 50, len(lines))
    # 5 kN / 9.80665 = 509.858 kgf; 12.5 m of line out.
    form = re.compile(rb"N(\d+) P \+12\.500 F   509\.9kg\r$")
    matches = [form.match(line) for line in lines]
    check("every line in its form", all(matches), [l for l, m in zip(lines, matches) if not m][:3])
    counts = [int(m[1]) for m in matches if m]
    check("no line is missing or twice",
          counts == list(range(counts[0], counts[0] + len(counts))), counts[:20])
    return len(lines)


def check_answers(play):
    with serial.Serial(play.wire("answers"), 9600, timeout=1) as port:
        for _ in range(5):
            port.write(b"W\r")
            line = port.readline()
            check("it answers when asked", line == b"5.000 kN\n", line)
        port.timeout = 0.2
        port.write(b"X\r")
        check("and only to what it knows", port.readline() == b"")
    return 5


def check_faulty_lines(listeners):
    good = re.compile(rb"F   509\.9 kg\r$")
    pounds = re.compile(rb"F  1124\.0 lb\r$")  # 5 kN = 1124.04 lbf
    heard = {}
    for name, listener in listeners.items():
        lines = listener.lines()
        heard[name] = {
            "lines": len(lines),
            "good": sum(bool(good.match(line)) for line in lines),
            "pounds": sum(bool(pounds.match(line)) for line in lines),
        }
    return heard


def same(label, device, **wanted):
    for key, want in wanted.items():
        got = device["faults"].get(key.replace("_", " "), 0) if key not in device else device[key]
        check(f"{label}: {key} told is {key} met", got == want, f"told {got}, met {want}")


def first():
    play = Rehearsal("wires", 1)
    talks = Listener(play.wire("talks"))
    faulty = {name: Listener(play.wire(name))
              for name in ("garbage", "half", "wrong-unit", "silent")}
    requests = check_modbus(play)
    answers = check_answers(play)
    play.wait_until(1.5)
    told = play.stop()
    lines = check_talk(talks)
    heard = check_faulty_lines(faulty)
    same("tcp", told["tcp"], requests=requests["tcp"], good=requests["tcp"] - 2, refused=2, writes=1)
    same("rtu", told["rtu"], requests=requests["rtu"], good=requests["rtu"])
    same("talks", told["talks"], messages=lines, good=lines, endings=lines)
    same("answers", told["answers"], requests=answers, good=answers)
    for name, device in (("garbage", told["garbage"]), ("half", told["half"]),
                         ("wrong-unit", told["wrong unit"]), ("silent", told["silent"])):
        met = heard[name]
        same(name, device, good=met["good"], endings=met["lines"])
        faults = sum(device["faults"].values())
        check(f"{name}: faults were played", faults > 5, device)
        check(f"{name}: every message is in one count",
              device["messages"] == device["good"] + device["spoiled"] + faults, device)
    same("wrong-unit", told["wrong unit"], wrong_unit=heard["wrong-unit"]["pounds"])


def ask_often(client, times):
    """How many of the polls came back good; and the numbers."""
    values = []
    exceptions = silent = 0
    for _ in range(times):
        try:
            reply = client.read_input_registers(0, 3, slave=1)
        except Exception as bad:  # pymodbus 3.0 stumbles over some garbage (struct.error)
            reply = bad
        if not isinstance(reply, Exception) and not reply.isError():
            values.append(number_from(reply.registers[:2], "float32", "abcd"))
        elif hasattr(reply, "exception_code"):
            exceptions += 1
        else:
            silent += 1
            client.close()
            client.connect()
    return values, exceptions, silent


def read_plain(client, count):
    try:
        reply = client.read_input_registers(0, count, slave=1) if client.connect() else None
    except Exception:  # the peer's own way to say the wire is gone differs by kind and version
        return None
    return None if reply is None or reply.isError() else tuple(reply.registers)


def check_plugs(play, polls):
    tcp = quick(ModbusTcpClient("127.0.0.1", port=play.port + 2), 0.5)
    rtu = quick(ModbusSerialClient(play.wire("unplugged"), baudrate=115200), 0.5)
    check("tcp plugged in", read_plain(tcp, 6) is not None)
    check("rtu plugged in", read_plain(rtu, 3) is not None)
    play.wait_until(2.5)
    check("tcp pulled out", read_plain(tcp, 6) is None)
    check("rtu pulled out", read_plain(rtu, 3) is None)
    check("its link is gone", not os.path.lexists(play.wire("unplugged")))
    tcp.close()
    rtu.close()
    polls()
    play.wait_until(5.5)
    check("tcp plugged in again", read_plain(tcp, 6) is not None)
    check("rtu plugged in again", read_plain(rtu, 3) is not None)
    seen = [read_plain(tcp, 6) or () for _ in range(5) if not time.sleep(0.03)]
    live = {registers[:3] for registers in seen}
    dead = {registers[3:] for registers in seen}
    check("a live cell and its counter move", len(live) >= 4, live)
    check("a dead cell repeats, its counter stands", len(dead) == 1, dead)
    tcp.close()
    rtu.close()


def second():
    play = Rehearsal("troubles", 3)
    results = {}

    def polls():
        for name, client in (
                ("tcp late", ModbusTcpClient("127.0.0.1", port=play.port)),
                ("tcp exception", ModbusTcpClient("127.0.0.1", port=play.port + 1)),
                ("rtu garbage", ModbusSerialClient(play.wire("garbage"), baudrate=115200)),
                ("rtu half", ModbusSerialClient(play.wire("half"), baudrate=115200))):
            quick(client, 0.3).connect()
            results[name] = ask_often(client, 25)
            client.close()

    check_plugs(play, polls)
    told = play.stop()
    for name, (values, exceptions, silent) in results.items():
        device = told[name]
        faults = sum(device["faults"].values())
        check(f"{name}: no wrong value", all(abs(value - 5000) < 50 for value in values), values)
        check(f"{name}: faults were played", faults > 2, device)
        check(f"{name}: requests are good or faulty", device["requests"] == device["good"] + faults,
              device)
        check(f"{name}: good told is good met", device["good"] == len(values),
              f"told {device['good']}, met {len(values)}")
        check(f"{name}: faults told are faults met", exceptions + silent == faults,
              f"told {faults}, met {exceptions} and {silent}")
        check(f"{name}: only exceptions where they are played",
              (silent if name == "tcp exception" else exceptions) == 0, (exceptions, silent))


first()
second()
print(f"{passed} passed, {failed} failed")
sys.exit(1 if failed else 0)
