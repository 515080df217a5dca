#!/bin/sh
# Every header compiles by itself.  usage: headers_alone.sh ROOT CC...
set -eu
cd "$1"
shift
status=0
for header in core/*.h schema/*.h daemon/*.h tools/*.h; do
	"$@" -std=gnu11 -D_GNU_SOURCE -Wall -Wextra -I. -fsyntax-only -x c "$header" 2>&1 || status=1
done
exit $status
