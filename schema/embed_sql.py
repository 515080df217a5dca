#!/usr/bin/python3
"""Turns SQL files into C texts: embed_sql.py OUT.c record_1.sql ...

Each becomes `const char rv_NAME_sql[]`, NAME being the file's name without its end.
"""
import pathlib
import sys

with open(sys.argv[1], "w", encoding="utf-8") as out:
    out.write('/* Made from the SQL files of schema/; edit those. */\n#include "schema/store_sql.h"\n')
    for source in map(pathlib.Path, sys.argv[2:]):
        data = source.read_bytes() + b"\0"
        out.write(f"\nconst char rv_{source.stem}_sql[] = {{\n")
        for at in range(0, len(data), 16):
            out.write("\t" + " ".join(f"{byte}," for byte in data[at:at + 16]) + "\n")
        out.write("};\n")
