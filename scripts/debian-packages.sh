#!/usr/bin/env bash
# Installs what the tests need from Debian: a real broker and its clients, pseudo-terminal pairs, a real browser, a database of readings, a reader of PDFs.
# Coatclock itself needs none of them to run.
set -eu

declare -A package_of=([mosquitto]=mosquitto [mosquitto_pub]=mosquitto-clients [influxd]=influxdb [socat]=socat [chromium]=chromium [openssl]=openssl [faketime]=faketime [pdftotext]=poppler-utils)
missing=()
for command in "${!package_of[@]}"; do
  PATH="$PATH:/usr/sbin" command -v "$command" >/dev/null || missing+=("${package_of[$command]}")
done
[ ${#missing[@]} -eq 0 ] && exit 0

echo "The tests need these Debian packages: ${missing[*]}" >&2
if [ "$(id -u)" -eq 0 ]; then
  as_root=()
elif command -v sudo >/dev/null && sudo -n true 2>/dev/null; then
  as_root=(sudo)
else
  echo "They can't be installed without root here. Run this, then the tests again:" >&2
  echo "  sudo apt-get update && sudo apt-get install ${missing[*]}" >&2
  exit 1
fi
export DEBIAN_FRONTEND=noninteractive
"${as_root[@]}" apt-get update -q >&2
"${as_root[@]}" apt-get install -y -q --no-install-recommends "${missing[@]}" >&2
