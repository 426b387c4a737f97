#!/usr/bin/env bash
# Shows a wall's page on this screen: waits, in words, until it answers, so that the order in which machines start does not
# matter; then a browser under a compositor that shows one program. Run by coatclock-wall.service.
set -euo pipefail
page=${COATCLOCK_WALL:?}
profile=${RUNTIME_DIRECTORY:?}/profile

if ! curl -s -o /dev/null --max-time 5 "$page"; then
  printf '\n\n  Waiting for Coatclock: %s\n' "$page"
  until curl -s -o /dev/null --max-time 5 "$page"; do sleep 2; done
fi

# A crash leaves a profile that would be asked about.
rm -rf "$profile"
export HOME=$RUNTIME_DIRECTORY
exec cage -d -- chromium --kiosk --ozone-platform=wayland --user-data-dir="$profile" --disk-cache-size=16777216 \
  --no-first-run --no-default-browser-check --noerrdialogs --disable-session-crashed-bubble --hide-crash-restore-bubble \
  --disable-infobars --disable-features=Translate --password-store=basic --disable-component-update "$page"
