#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Writes the page's files as constant C data, plain and packed, each with its entity tag.

usage: embed.py OUT.c --file PATH TYPE SOURCE... [--file PATH TYPE SOURCE...]
Several sources of one file are joined, a rule between them.  The same input gives the same output.
"""
import gzip
import hashlib
import sys

RULE = b"\n" + b"-" * 96 + b"\n\n"
LINE = 24


def array(name, data):
    lines = [f"static const unsigned char {name}[] = {{"]
    for at in range(0, len(data), LINE):
        lines.append("\t" + ",".join(str(byte) for byte in data[at:at + LINE]) + ",")
    return "\n".join(lines) + "\n};\n"


def read(source):
    with open(source, "rb") as file:
        return file.read()


def main(out, arguments):
    asked, code, table = [], [], []
    for word in arguments:
        if word == "--file":
            asked.append([])
        else:
            asked[-1].append(word)
    for number, (path, media, *sources) in enumerate(asked):
        data = RULE.join(read(source) for source in sources)
        packed = gzip.compress(data, 9, mtime=0)
        tag = hashlib.sha256(data).hexdigest()[:24]
        code.append(array(f"file_{number}", data))
        gzip_is = "NULL, 0"
        if len(packed) < len(data):
            code.append(array(f"gzip_{number}", packed))
            gzip_is = f"gzip_{number}, sizeof gzip_{number}"
        table.append(f'\t{{"{path}", "{media}", "\\"{tag}\\"", "\\"{tag}-gz\\"", '
                     f"file_{number}, sizeof file_{number}, {gzip_is}}},\n")
    with open(out, "w", encoding="ascii") as file:
        file.write("/* Written by web/embed.py. */\n#include \"daemon/page.h\"\n\n"
                   "#include <string.h>\n\n")
        file.writelines(code)
        file.write("\nstatic const struct rv_page_file files[] = {\n" + "".join(table) + "};\n\n"
                   "const struct rv_page_file *rv_page_find(const char *path)\n{\n"
                   "\tfor (size_t i = 0; i < sizeof files / sizeof files[0]; i++)\n"
                   "\t\tif (strcmp(files[i].path, path) == 0)\n\t\t\treturn &files[i];\n"
                   "\treturn NULL;\n}\n")


main(sys.argv[1], sys.argv[2:])
