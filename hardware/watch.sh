#!/usr/bin/env bash
# Asks the predictor's /api/health once; after three failures in a row restarts it. Run by coatclock-watch.timer.
set -euo pipefail
# shellcheck source-path=SCRIPTDIR source=steps.sh
. "$(dirname "$(readlink -f "$0")")/steps.sh"

unit=coatclock.service
count=${RUNTIME_DIRECTORY:-/run/coatclock-watch}/failures
allowed=3
# A start with years of readings takes its time: it is not asked before.
grace_seconds=${COATCLOCK_GRACE:-120}

# One that is stopped, or that systemd is restarting, is not ours.
if [ "$(systemctl is-active "$unit" || true)" != active ]; then
  rm -f "$count"
  exit 0
fi
since_us=$(systemctl show --property ActiveEnterTimestampMonotonic --value "$unit")
up_s=$(cut -d . -f 1 /proc/uptime)
if [ $((up_s - since_us / 1000000)) -lt "$grace_seconds" ]; then exit 0; fi

if [ -n "$(version_shown)" ]; then
  rm -f "$count"
  exit 0
fi
failures=$(($(cat "$count" 2>/dev/null || echo 0) + 1))
if [ "$failures" -lt "$allowed" ]; then
  echo "$failures" >"$count"
  warn "$unit does not answer on port $(port) ($failures of $allowed)."
  exit 0
fi
rm -f "$count"
warn "$unit did not answer $allowed times in a row and is restarted."
systemctl restart "$unit"
