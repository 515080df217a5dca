#!/bin/sh
# The core computes: nothing in it may open, print, sleep, ask a clock, the environment, a lock or a
# database.  usage: core_is_pure.sh LIBRVCORE.A
set -eu
forbidden='open|open64|fopen|fopen64|read|write|printf|puts|putchar|fprintf|fputs|fwrite|perror|syslog|time|gettimeofday|clock_gettime|nanosleep|usleep|sleep|getenv|setlocale|system|fork|exit|abort|socket|rand|srand|random|pthread_[a-z_]*|sqlite3_[a-z_0-9]*|strtok|strerror|localtime|gmtime'
calls=$(nm -u "$1" | awk '$1 == "U" {print $2}' | sed 's/@.*//; s/^__//; s/_chk$//' | sort -u)
[ -n "$calls" ] || { echo "no symbols found in $1"; exit 1; }
bad=$(printf '%s\n' "$calls" | grep -xE "$forbidden" || true)
if [ -n "$bad" ]; then
	echo "core must not call:" $bad
	exit 1
fi
# Constant tables of pointers lie in .data.rel.ro and are no state.
state=$(objdump -t "$1" | awk 'NF > 2 && $(NF-2) ~ /^\.(data|bss|tdata|tbss)$/ && $NF !~ /^\./ {print $NF}')
if [ -n "$state" ]; then
	echo "core must hold no state:" $state
	exit 1
fi
