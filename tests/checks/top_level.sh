#!/bin/sh
# The top level holds what it is meant to hold, and nothing else.  usage: top_level.sh ROOT
set -eu
cd "$1"
stray=$(git ls-files 2>/dev/null | cut -d/ -f1 | sort -u | grep -v '^\.' |
	grep -vxE 'README\.md|DEVELOPERS\.md|meson\.build|LICENSE|daemon|core|web|schema|tests|tools' || true)
[ -z "$stray" ] || { echo "the top level holds more than it should:" $stray; exit 1; }
# No download address may stand in the lock file.
if [ -f web/package-lock.json ] && grep -q '"resolved"' web/package-lock.json; then
	echo 'web/package-lock.json holds download addresses: see web/.npmrc'
	exit 1
fi
