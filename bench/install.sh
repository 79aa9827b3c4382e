#!/bin/sh
# Installs the Debian packages named in the lists given, those that are missing alone; without any missing it needs no network.
#   sh bench/install.sh bench/packages.txt [tests/packages.txt]
set -eu
missing=""
for package in $(cat "$@" | sed 's/#.*//'); do
  status=$(dpkg-query -W -f='${db:Status-Status}' "$package" 2>/dev/null || true)
  [ "$status" = installed ] || missing="$missing $package"
done
[ -n "$missing" ] || exit 0
as_root=""
if [ "$(id -u)" -ne 0 ]; then
  command -v sudo >/dev/null || { echo "install.sh: missing$missing; run as root, or install sudo" >&2; exit 3; }
  as_root=sudo
fi
echo "Installing$missing"
$as_root env DEBIAN_FRONTEND=noninteractive apt-get update -qq
$as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends $missing >/dev/null
