#!/bin/bash
# Fetches the photos named in masks.json out of Debian's packages into a folder. Needs apt-get (after
# an 'apt-get update'), dpkg-deb and python3.
#
#   fetch.sh FOLDER [NAME ...]
#
# Nothing is installed. Each photo is checked against its sha256: another release of a package may
# ship another picture, and then the mask does not fit. Exit 1 when any photo is missing.
set -u
if [ $# -lt 1 ]; then sed -n '2,8s/^# \{0,1\}//p' "$0"; exit 2; fi
here=$(cd "$(dirname "$0")" && pwd)
mkdir -p "$1" || exit 2
out=$(cd "$1" && pwd); shift
tmp=$(mktemp -d) || exit 2
trap 'rm -rf "$tmp"' EXIT
mkdir -p "$tmp/deb"

list() { # package, path, sha256, file; one photo a line, sorted by package
python3 - "$here" "$@" <<'PY'
import json, os, sys
here, names = sys.argv[1], sys.argv[2:]
rows = []
for n, e in json.load(open(os.path.join(here, "masks.json"), encoding="utf-8"))["photos"].items():
    if not names or n in names:
        s = e["source"]
        rows.append((s["package"], s["path"], e["sha256"], e["file"]))
for r in sorted(rows):
    print("\t".join(r))
PY
}

deb_package() { # downloads the package once, prints its file
    local f
    f=$(ls "$tmp/deb/$1"_*.deb 2>/dev/null | head -n 1)
    if [ -z "$f" ]; then
        (cd "$tmp/deb" && apt-get -o APT::Sandbox::User=root download "$1" >/dev/null 2>"$tmp/err") || { cat "$tmp/err" >&2; return 1; }
        f=$(ls "$tmp/deb/$1"_*.deb | head -n 1)
    fi
    echo "$f"
}

ok=0 bad=0
while IFS=$'\t' read -r package path sum file; do
    t=$out/$file
    if [ -e "$t" ] && [ "$(sha256sum <"$t" | cut -c1-64)" = "$sum" ]; then ok=$((ok + 1)); continue; fi
    # The folder name of a library path holds the architecture.
    p=.${path/x86_64-linux-gnu/*}
    deb=$(deb_package "$package") && dpkg-deb --fsys-tarfile "$deb" | tar -xOf - --wildcards "$p" >"$t" 2>/dev/null
    if [ -s "$t" ] && [ "$(sha256sum <"$t" | cut -c1-64)" = "$sum" ]; then
        ok=$((ok + 1)); echo "$file  from $package"
    else
        bad=$((bad + 1)); echo "$file: $package has no such picture (its $path is missing or differs)" >&2; rm -f "$t"
    fi
done < <(list "$@")
echo "$ok photos in place, $bad missing"
[ "$bad" = 0 ]
