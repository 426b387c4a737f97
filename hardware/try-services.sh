#!/usr/bin/env bash
# Run by try-in-root.sh inside the started root, as root and without a network: what the services do when they live.
# shellcheck disable=SC2012,SC2016
set -uo pipefail
# shellcheck source-path=SCRIPTDIR source=steps.sh
. /root/coatclock/hardware/steps.sh
export COATCLOCK_SETTLE=3

expect() {
  local what=$1
  shift
  if "$@" >/root/last 2>&1; then say "ok      $what"; else say "FAILED  $what: $(tail -n 3 /root/last | tr '\n' ' ')"; fi
}
# Until a command is true, for a while.
soon() {
  local until=$((SECONDS + $1))
  shift
  until "$@" >/dev/null 2>&1; do
    [ "$SECONDS" -lt "$until" ] || return 1
    sleep 0.5
  done
}
health() { curl -fsS --max-time 3 "http://127.0.0.1:$(port)/api/health"; }
health_says() { health | grep -q "$1"; }
collector_says() { health | node -e 'const { collectors } = JSON.parse(require("fs").readFileSync(0)); process.exit(collectors.some((it) => it.name === process.argv[1] && it.online && it.version === process.argv[2]) ? 0 : 1)' "$@"; }
starts_of() { systemctl show --property NRestarts --value "$1"; }

say "systemd: $(systemctl --version | head -n 1), node $(node -v), network: $(ls /sys/class/net | tr '\n' ' ')"
release=$(current_release)
# As after a first installation, whatever an earlier trial left.
systemctl stop coatclock.service
systemctl disable --quiet --now coatclock-collector@far-pi.service coatclock-lamp@far-lamp.service
rm -rf /root/data-before "${data:?}"/* /var/log/journal
for folder in "$releases"/*/; do [ "$(basename "$folder")" = "$release" ] || rm -rf "$folder"; done
install -o root -g coatclock -m 640 "$opt/current/predictor/rehearsal-shop.yaml" "$etc/shop.yaml"
systemctl start coatclock.service

# --- what the hardening closes and leaves open, in a unit like the service's own -----------------------------------------
mkdir -p /etc/systemd/system/coatclock-limits.service.d
cp "$units/coatclock.service" /etc/systemd/system/coatclock-limits.service
cp "$units/coatclock.service.d/hardened.conf" /etc/systemd/system/coatclock-limits.service.d/
cat >/usr/local/lib/limits.sh <<'LIMITS'
limit() { local what=$1; shift; if "$@" >/dev/null 2>&1; then echo "FAILED  the service may $what"; else echo "ok      the service may not $what"; fi; }
may() { local what=$1; shift; if "$@" >/dev/null 2>&1; then echo "ok      the service may $what"; else echo "FAILED  the service may not $what"; fi; }
limit "write its own program" touch /opt/coatclock/current/x
limit "write its settings" touch /etc/coatclock/x
limit "write to /usr" touch /usr/x
limit "read root's home" ls /root
limit "set the clock" date -s 2001-01-01
limit "make a namespace" unshare --user true
limit "open a device that is no sensor" bash -c ': </dev/fuse'
limit "mount" mount -t tmpfs x /tmp
may "write its data" touch /var/lib/coatclock/try
may "write what waits in memory" touch /run/coatclock/try
# Refused by nothing but that it is not plugged in.
may "open a serial converter plugged in later" grep -qE 'No such device' <(stty -F /dev/ttyUSB0 2>&1)
may "read the boot's id" cat /proc/sys/kernel/random/boot_id
may "read sensors of the kernel" ls /sys/class/net /sys/bus
may "ask the kernel about the clock" grep -q synchronised <(/opt/coatclock/current/dist/collector/clock-probe)
rm -f /var/lib/coatclock/try /run/coatclock/try
LIMITS
cat >/etc/systemd/system/coatclock-limits.service.d/what.conf <<'WHAT'
[Service]
Type=oneshot
Restart=no
ExecStart=
ExecStart=/bin/bash /usr/local/lib/limits.sh
StandardOutput=file:/root/limits
StandardError=inherit
WHAT
systemctl daemon-reload
systemctl start coatclock-limits.service
cat /root/limits

# --- the predictor ---------------------------------------------------------------------------------------------------
expect "the predictor answers without a network" soon 120 health
expect "it says by itself that it is $release" [ "$(version_shown)" = "$release" ]
expect "its process works in that release's folder" [ "$(release_of_process coatclock.service)" = "$release" ]
expect "it was started once" [ "$(starts_of coatclock.service)" = 0 ]
expect "it runs as coatclock" [ "$(ps -o user= -p "$(main_pid coatclock.service)" 2>/dev/null || stat -c %U "/proc/$(main_pid coatclock.service)")" = coatclock ]
expect "readings flow" soon 60 health_says '"readingsStored":[1-9]'
expect "its journal lies in memory" ls /run/coatclock/
say "        in /run/coatclock: $(ls /run/coatclock | tr '\n' ' ') memory: $(systemctl show --property MemoryCurrent --value coatclock.service)"

pid=$(main_pid coatclock.service)
kill -9 "$pid"
other_pid() { [ "$(main_pid coatclock.service)" != "$pid" ] && health; }
expect "it comes back after kill -9" soon 60 other_pid
expect "what waits in memory outlives the service's stop" bash -c 'systemctl stop coatclock.service && ls /run/coatclock/* && systemctl start coatclock.service'

# --- a collector of another machine, and a lamp --------------------------------------------------------------------------
cat >>/etc/coatclock/shop.yaml <<'SHOP'
  far-pi:
    elsewhere: true
    sources:
      - { kind: rehearsal, room: yard, sensor: mast }
lamps:
  far-lamp:
    elsewhere: true
    outputs:
      - { when: { lost: true }, command: /usr/bin/true }
SHOP
sed -i 's/^trustClock: true$/trustClock: false/' /etc/coatclock/shop.yaml
systemctl enable --quiet coatclock-collector@far-pi.service coatclock-lamp@far-lamp.service
expect "predictor, collector and lamp start together" systemctl restart coatclock.service coatclock-collector@far-pi.service coatclock-lamp@far-lamp.service
expect "the clock's state is known under the hardening" soon 90 health_says '"clock":{"at":"[^"]*","state":"\(un\)\?synchronised"'
say "        $(health | grep -o '"clock":{[^}]*}')"
expect "the collector shows itself at the predictor, with its release" soon 60 collector_says far-pi "$release"
for unit in coatclock-collector@far-pi.service coatclock-lamp@far-lamp.service; do
  expect "$unit runs $release" runs_release "$unit" "$release"
done
sed -i 's/^trustClock: false$/trustClock: true/' /etc/coatclock/shop.yaml
expect "all run with a clock that is trusted" restart_and_prove "$release"

# --- it hangs --------------------------------------------------------------------------------------------------------
mkdir -p /etc/systemd/system/coatclock-watch.service.d
printf '[Service]\nEnvironment=COATCLOCK_GRACE=5\n' >/etc/systemd/system/coatclock-watch.service.d/try.conf
systemctl daemon-reload
systemctl restart coatclock-watch.timer
systemctl start coatclock-watch.service
pid=$(main_pid coatclock.service)
sleep 6
kill -STOP "$pid"
expect "one that hangs is restarted by the watch" soon 200 other_pid
journalctl -u coatclock-watch --no-pager -o cat | grep 'Look at' | sed 's/^/        /'

# --- copies ----------------------------------------------------------------------------------------------------------
expect "the nightly copy works under its unit" systemctl start coatclock-backup.service
journalctl -u coatclock-backup --no-pager -o cat | sed 's/^/        /'
copy=$(ls -d /mnt/stick/coatclock-20* 2>/dev/null | tail -n 1)
expect "the copy is whole" bash /root/coatclock/hardware/backup.sh --check "$copy"
sed 's/^/        /' /root/last
expect "the predictor still writes" soon 60 health_says '"fault":null'
expect "a restore over records is refused" bash -c '! bash /root/coatclock/hardware/backup.sh --restore "$0"' "$copy"
expect "the predictor stops for a restore" systemctl stop coatclock.service coatclock-watch.timer
mv /var/lib/coatclock /root/data-before && install -d -o coatclock -g coatclock -m 750 /var/lib/coatclock
expect "the copy is restored into an empty folder" bash /root/coatclock/hardware/backup.sh --restore "$copy"
systemctl start coatclock.service
expect "the predictor runs from it" soon 90 health_says '"damage":null'

# --- update and roll-back: the build needs a network, so releases are copied and named as their source asks -----------------
forge() {
  echo "$1" >>/root/coatclock/README.md
  local name
  name=$(release_name /root/coatclock)
  cp -a "$opt/releases/$release" "$opt/releases/$name"
  sed -i "s/$release/$name/" "$opt/releases/$name/package.json" "$opt/releases/$name/RELEASE"
  echo "$name"
}
second=$(forge "a line more")
expect "an update is proven" bash /root/coatclock/hardware/update.sh
sed 's/^/        /' /root/last
expect "the predictor says it is the new release" [ "$(version_shown)" = "$second" ]
third=$(forge "a line that breaks it")
echo 'process.exit(3)' >"$opt/releases/$third/dist/main.js"
expect "an update that does not run is taken back" bash -c 'COATCLOCK_PATIENCE=20 bash /root/coatclock/hardware/update.sh; [ $? = 1 ]'
sed 's/^/        /' /root/last
expect "the release before runs" [ "$(version_shown)" = "$second" ]
expect "rolling back is proven" bash /root/coatclock/hardware/update.sh --back
expect "the first release runs again" [ "$(version_shown)" = "$release" ]
say "        $(bash /root/coatclock/hardware/update.sh --list | tr '\n' ';')"
say "failed units: $(systemctl --failed --no-legend --plain | tr '\n' ' ')"
