#!/usr/bin/python3
"""Every type in every order, read from Modbus servers that are not ours: pymodbus over TCP and RTU.

mbpoll, a third program, first confirms that the server serves what we think it does.
usage: peers.py PROBE_STATION
Numbers are taken apart by Python's struct module.
"""
import logging
import os
import re
import socket
import struct
import subprocess
import sys
import tempfile
import threading
import time

try:
    from pymodbus.datastore import (ModbusSequentialDataBlock, ModbusServerContext,
                                    ModbusSlaveContext)
    from pymodbus.server import StartSerialServer, StartTcpServer
    from pymodbus.transaction import ModbusRtuFramer
except ImportError as missing:
    print(f"skipped: {missing}")
    sys.exit(77)

PROBE = sys.argv[1]
logging.disable(logging.ERROR)  # it complains of every client that leaves
NUMBERS = {
    "int16": (">h", -12345), "uint16": (">H", 54321), "int32": (">i", -123456789),
    "uint32": (">I", 4000000001), "float32": (">f", 1234.5625),
    "int64": (">q", -1234567890123), "float64": (">d", -9876.54321),
}
ORDERS = ["abcd", "badc", "cdab", "dcba"]
UNIT = 7
passed = failed = 0


def check(label, good, detail=""):
    global passed, failed
    passed += bool(good)
    if not good:
        failed += 1
        print(f"FAILED: {label}: {detail}")


def registers_of(form, number, order):
    data = struct.pack(form, number)
    words = [data[i:i + 2] for i in range(0, len(data), 2)]
    if order in ("cdab", "dcba"):
        words.reverse()
    if order in ("badc", "dcba"):
        words = [word[::-1] for word in words]
    return [struct.unpack(">H", word)[0] for word in words]


def lay_out():
    """Registers from 0 on, and which number stands where."""
    registers, places = [], []
    for kind, (form, number) in NUMBERS.items():
        for order in ORDERS:
            places.append((f"{kind}-{order}", kind, order, len(registers), number))
            registers += registers_of(form, number, order)
            registers += [0xDEAD] * (len(registers) % 3)  # gaps to read over
    return registers, places


def wait_for(what, seconds=20):
    end = time.monotonic() + seconds
    while not what():
        if time.monotonic() > end:
            sys.exit("a peer did not start")
        time.sleep(0.05)


def connects(port):
    with socket.socket() as one:
        return one.connect_ex(("127.0.0.1", port)) == 0


def free_port():
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


def mbpoll(*words):
    done = subprocess.run(["mbpoll", "-q", "-0", "-1", "-a", str(UNIT), *words],
                          capture_output=True, text=True, timeout=20)
    found = re.findall(r"^\[\d+\]:\s+(\S+)", done.stdout, re.M)
    return found[0] if found else done.stdout + done.stderr


def station_text(places, links):
    lines = ["station: Peers", "record: peers.db", "devices:"]
    lines += [f"  {name}: {{{link}, unit: {UNIT}, every: 50 ms, timeout: 2 s}}"
              for name, link in links.items()]
    lines += ["channels:"]
    for device in links:
        for name, kind, order, address, _ in places:
            space = "holding" if device == "tcp" else "input"
            lines += [f"  {device}-{name}: {{quantity: other, device: {device}, register: "
                      f"{space} {address}, type: {kind}, order: {order}, unit: V}}"]
        lines += [f"  {device}-bit: {{quantity: other, device: {device}, register: discrete 3, "
                  "unit: V}"]
    return "\n".join(lines) + "\n"


def main():
    registers, places = lay_out()
    context = ModbusServerContext(slaves={UNIT: ModbusSlaveContext(
        di=ModbusSequentialDataBlock(0, [0, 0, 0, 1, 0, 0, 0, 0]),
        ir=ModbusSequentialDataBlock(0, registers), hr=ModbusSequentialDataBlock(0, registers),
        zero_mode=True)}, single=False)
    port = free_port()
    with tempfile.TemporaryDirectory(prefix="reeve-peers.") as folder:
        near, far = f"{folder}/near", f"{folder}/far"
        with subprocess.Popen(["socat", f"pty,raw,echo=0,link={near}",
                               f"pty,raw,echo=0,link={far}"]) as cable:
            try:
                wait_for(lambda: os.path.exists(near) and os.path.exists(far))
                for serve, words in ((StartTcpServer, {"address": ("127.0.0.1", port)}),
                                     (StartSerialServer, {"port": far, "baudrate": 115200,
                                                          "framer": ModbusRtuFramer})):
                    threading.Thread(target=serve, daemon=True,
                                     kwargs={"context": context, **words}).start()
                wait_for(lambda: connects(port))
                look(places, near, port, folder)
            finally:
                cable.terminate()


def look(places, near, port, folder):
    where = {name: address for name, _, _, address, _ in places}
    first = str(where["uint16-abcd"])
    got = mbpoll("-t", "4", "-r", first, "-c", "1", "-p", str(port), "127.0.0.1")
    check("mbpoll over TCP reads what we laid out", got == "54321", got)
    # Six digits are all that mbpoll prints.
    got = mbpoll("-m", "rtu", "-b", "115200", "-P", "none", "-t", "3:float", "-B", "-r",
                 str(where["float32-abcd"]), "-c", "1", near)
    check("mbpoll over RTU reads what we laid out", got == "1234.56", got)
    links = {"tcp": f"link: modbus-tcp, address: 127.0.0.1, port: {port}",
             "rtu": f"link: modbus-rtu, path: {near}, speed: 115200, frame: 8N1"}
    path = f"{folder}/station.yaml"
    with open(path, "w", encoding="utf-8") as file:
        file.write(station_text(places[:28], links))
    done = subprocess.run([PROBE, path], capture_output=True, text=True, timeout=60)
    raw = {line.split()[0]: line for line in done.stdout.splitlines() if line}
    for device in links:
        for name, _, _, _, number in places:
            line = raw.get(f"{device}-{name}", done.stderr)
            want = f" raw {number:.12g} "
            check(f"{device} {name}", want in line and line.endswith(" good"), line)
        line = raw.get(f"{device}-bit", "")
        check(f"{device} bit", " raw 1 " in line, line)
    check("the probe finds all good", done.returncode == 0, done.stdout[-300:])


main()
print(f"{passed} passed, {failed} failed")
sys.exit(1 if failed else 0)
