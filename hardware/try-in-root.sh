#!/usr/bin/env bash
# For developers: runs install.sh to its end in a fresh Debian root, checks what it left, and (--boot) starts that root with
# systemd in namespaces of its own, without a network, to see the services live under their hardening.
# shellcheck disable=SC2016 # what stands in single quotes is for another shell
set -euo pipefail
here=$(dirname "$(readlink -f "$0")")
# shellcheck source=steps.sh
. "$here/steps.sh"

usage="sudo bash hardware/try-in-root.sh FOLDER [--arch arm64|amd64] [--suite trixie] [--boot]

Makes FOLDER/SUITE-ARCH with debootstrap (Debian: debootstrap; another architecture than this machine's: qemu-user-static).
It takes 5 to 60 minutes. npm_config_… in the environment is passed on."
[ $# -gt 0 ] || refuse "no folder named." "$usage"
folder=$1 arch=$(dpkg --print-architecture) suite=trixie boot=no
shift
while [ $# -gt 0 ]; do
  case $1 in
    --arch) arch=$2 && shift 2 ;;
    --suite) suite=$2 && shift 2 ;;
    --boot) boot=yes && shift ;;
    *) refuse "$1 is not known." "$usage" ;;
  esac
done
must_be_root
root=$(readlink -f "$folder")/$suite-$arch

if [ "$arch" != "$(dpkg --print-architecture)" ]; then
  mountpoint -q /proc/sys/fs/binfmt_misc || mount -t binfmt_misc none /proc/sys/fs/binfmt_misc
  case $arch in arm64) emulator=qemu-aarch64 ;; *) refuse "no emulator is known for $arch." ;; esac
  [ -e "/proc/sys/fs/binfmt_misc/$emulator" ] || tr -d '\n' <"/usr/lib/binfmt.d/$emulator.conf" >/proc/sys/fs/binfmt_misc/register
fi
if [ ! -e "$root/etc/os-release" ]; then
  step "Making a Debian $suite root for $arch in $root …"
  debootstrap --arch="$arch" --variant=minbase --include=systemd,systemd-sysv,udev,ca-certificates "$suite" "$root" http://deb.debian.org/debian >"$root.log" ||
    refuse "debootstrap failed: see $root.log."
fi

copy=$root/root/coatclock
rm -rf "$copy"
mkdir -p "$copy" "$root/mnt/stick"
(cd "$here/.." && source_files | tar --null --files-from=- -cf -) | tar -C "$copy" -xf -
cp /etc/resolv.conf "$root/etc/resolv.conf"
# npm on Debian looks at its own certificates; a developer's machine may know others.
cp /etc/ssl/certs/ca-certificates.crt "$root/usr/local/share/certificates.crt"

# Runs a command in the root, with mounts that end with it.
inside() {
  npm_config_cafile=/usr/local/share/certificates.crt unshare --mount --pid --fork --kill-child bash -c '
    mount -t proc proc "$0/proc" && mount -t sysfs -o ro sys "$0/sys" && mount --rbind /dev "$0/dev" && exec chroot "$0" "$@"' "$root" "$@"
}

expect() {
  local what=$1
  shift
  if "$@" >/dev/null 2>&1; then say "ok      $what"; else say "FAILED  $what" && failed=yes; fi
}
failed=no

install=(bash /root/coatclock/hardware/install.sh --role predictor --role wall --wall booth --backup-to /mnt/stick)
step "What it would do:"
inside "${install[@]}" --check
step "Installing …"
inside "${install[@]}"
step "Installing again, which has to change nothing …"
before=$(readlink "$root/opt/coatclock/current")
inside "${install[@]}"

step "What it left:"
expect "the same release" [ "$(readlink "$root/opt/coatclock/current")" = "$before" ]
for unit in coatclock.service coatclock-watch.timer coatclock-wall.service coatclock-backup.timer; do
  expect "$unit starts with the machine" inside systemctl is-enabled "$unit"
done
expect "nothing in the release belongs to another than root, or may be written by one" \
  [ -z "$(find "$root/opt/coatclock/releases" \( ! -user 0 -o -perm /022 \) ! -type l -print -quit)" ]
expect "the build's tools are not in it" [ ! -e "$root/opt/coatclock/current/node_modules/typescript" ]
expect "the program starts" inside runuser -u coatclock -- /usr/bin/node /opt/coatclock/current/dist/main.js --help
expect "the clock probe was compiled" [ -x "$root/opt/coatclock/current/dist/collector/clock-probe" ]
expect "the service account can read the shop file" inside runuser -u coatclock -- cat /etc/coatclock/shop.yaml
expect "the service account can't write it" inside bash -c '! runuser -u coatclock -- test -w /etc/coatclock/shop.yaml'
expect "others can't read it" inside bash -c '! runuser -u nobody -- cat /etc/coatclock/shop.yaml'
inside bash -c 'systemd-analyze verify /etc/systemd/system/coatclock*.service /etc/systemd/system/coatclock*.timer' >"$root.verify" 2>&1 || true
# Lines about units that the root has none of, such as a graphical target's, are not ours.
expect "systemd-analyze verify finds nothing in Coatclock's units" bash -c '! grep -i coatclock "$0"' "$root.verify"
cat "$root.verify"
inside bash -c 'for unit in coatclock coatclock-collector@booth-pi coatclock-lamp@booth-lamp coatclock-watch coatclock-backup coatclock-wall; do
  echo "$unit: $(systemd-analyze security --offline=yes --no-pager "$unit.service" | tail -n 1)"; done'

if [ "$boot" = yes ]; then
  step "Starting the root with systemd, without a network …"
  cp "$here/try-services.sh" "$root/root/try-services.sh"
  cat >"$root/etc/systemd/system/try-services.service" <<'UNIT'
[Unit]
After=multi-user.target coatclock.service
[Service]
Type=oneshot
ExecStart=/bin/bash /root/try-services.sh
ExecStopPost=/bin/systemctl --no-block poweroff
StandardOutput=file:/root/tried
StandardError=inherit
TimeoutStartSec=900
UNIT
  ln -sf ../try-services.service "$root/etc/systemd/system/multi-user.target.wants/try-services.service"
  # The screen is another matter, see set-up.md.
  rm -f "$root/etc/systemd/system/multi-user.target.wants/coatclock-wall.service" "$root/root/tried"
  group=/sys/fs/cgroup/coatclock-try
  [ -d /sys/fs/cgroup/unified ] && group=/sys/fs/cgroup/unified/coatclock-try
  mkdir -p "$group"
  # shellcheck disable=SC2016
  timeout 1200 bash -c 'echo $$ >"$1/cgroup.procs"
    exec unshare --mount --pid --fork --kill-child --cgroup --uts --ipc --net bash "$2" "$0"' "$root" "$group" "$here/try-start.sh" >"$root.boot" 2>&1 || true
  rmdir "$group" 2>/dev/null || true
  rm -f "$root/etc/systemd/system/multi-user.target.wants/try-services.service"
  cat "$root/root/tried" 2>/dev/null || { say "FAILED  it did not come up: see $root.boot" && failed=yes; }
  if grep -q FAILED "$root/root/tried" 2>/dev/null; then failed=yes; fi
fi
[ "$failed" = no ]
