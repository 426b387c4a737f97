# Shared by install.sh, update.sh, backup.sh and watch.sh: where things lie, how a release is made, switched to and proven. Sourced, not run.
# shellcheck shell=bash disable=SC2034

prefix=${COATCLOCK_PREFIX:-} # a folder in place of /, for tests
node=${COATCLOCK_NODE:-/usr/bin/node}
patience=${COATCLOCK_PATIENCE:-120} # seconds that a release has to show that it runs
opt=$prefix/opt/coatclock
releases=$opt/releases
etc=$prefix/etc/coatclock
data=$prefix/var/lib/coatclock
units=$prefix/etc/systemd/system
kept=3
builder=coatclock-build

say() { printf '%s\n' "$*"; }
step() { printf '* %s\n' "$*"; }
warn() { printf 'Look at this: %s\n' "$*" >&2; }
refuse() {
  printf "Can't go on: %s\n" "$1" >&2
  shift
  for line in "$@"; do printf '  %s\n' "$line" >&2; done
  exit 2
}

must_be_root() {
  [ "$(id -u)" -eq 0 ] || [ -n "$prefix" ] || refuse "this needs root." "Run it so: sudo bash $0 …"
}

# systemd runs this machine; it does not in a chroot, where an image is made.
systemd_runs() { [ -n "$prefix" ] || [ -d /run/systemd/system ]; }

# --- releases side by side -------------------------------------------------------------------------------------------

# What a release is made from: everything but what Git, npm and the build made, and what people keep at the top of a copy.
source_files() {
  find . \( -path ./.git -o -name node_modules -o -path './dist*' -o -path ./data -o -path './*.log' \
    -o \( -path './*.yaml' -o -path './*.yml' -o -path './*.key' -o -path './*.pem' \) ! -path './*/*' \) -prune \
    -o -type f -print0 | LC_ALL=C sort -z
}

# <version>+<10 digits of a hash over every file, and Node's binary interface>: the same source gives the same name. The
# running program shows it as its version, so that what runs can be told from outside.
release_name() {
  (
    cd "$1" || exit 1
    version=$(sed -n 's/^  "version": "\([0-9A-Za-z.-]*\)",\{0,1\}$/\1/p' package.json | head -n 1)
    [ -n "$version" ] || refuse "$1 is no source of Coatclock that a release can be made from." "Run this from a clone or an unpacked copy of the project."
    interface=$("$node" -p 'process.arch + process.versions.modules' 2>/dev/null || echo "no node")
    hash=$({ source_files | xargs -0 sha256sum && echo "$interface"; } | sha256sum)
    echo "$version+${hash:0:10}"
  )
}

# Builds the release of a source folder beside the others, unless it is there. The running one is not touched.
build_release() {
  local source=$1 name=$2 work commit
  if [ -d "$releases/$name" ]; then
    step "Release $name is built already."
    return
  fi
  step "Building release $name as the account $builder; this takes some minutes …"
  mkdir -p "$releases"
  work=$(mktemp -d "$opt/build.XXXXXX")
  # shellcheck disable=SC2064
  trap "rm -rf '$work'" EXIT
  mkdir "$work/source" "$work/home"
  (cd "$source" && source_files | tar --null --files-from=- -cf -) | tar -C "$work/source" --no-same-owner -xf -
  commit=$(git -c safe.directory='*' -C "$source" rev-parse HEAD 2>/dev/null || echo "not known")
  chown -R "$builder:" "$work"
  # Debian's headers of Node where they are, so that nothing is fetched to compile the database.
  [ -e /usr/include/node/node.h ] && export npm_config_nodedir=/usr
  build_in "$work" "$name" || refuse "the build failed; its own words stand above. What runs has not been touched."
  printf 'release %s\ncommit %s\nnode %s\n' "$name" "$commit" "$("$node" -v)" >"$work/source/RELEASE"
  chown -R root:root "$work/source"
  chmod -R u=rwX,go=rX "$work/source"
  mv -T "$work/source" "$releases/$name"
  rm -rf "$work"
  trap - EXIT
  sync
}

# Joined by &&: bash's own stop at an error does not hold inside a condition.
build_in() (
  as_builder() { nice -n 10 runuser -u "$builder" -- env HOME="$1/home" "${@:2}"; }
  cd "$1/source" &&
    as_builder "$1" npm ci --no-audit --no-fund &&
    as_builder "$1" npm run build &&
    as_builder "$1" npm prune --omit=dev --no-audit --no-fund &&
    as_builder "$1" "$node" -e '
      const fs = require("node:fs");
      const it = JSON.parse(fs.readFileSync("package.json", "utf8"));
      fs.writeFileSync("package.json", JSON.stringify({ ...it, version: process.argv[1] }, null, 2));
    ' "$2"
)

current_release() { basename "$(readlink "$opt/current" 2>/dev/null)"; }

# Those that ran, newest first, by when each was last updated to.
releases_by_age() { { cd "$releases" && ls -1t -- */RELEASE; } 2>/dev/null | sed 's|/RELEASE$||'; }

release_before() { releases_by_age | { grep -xF -A 1 -e "$1" || true; } | sed -n 2p; }

# What is about to be tried becomes the newest; what did not run is no release to go back to, until it is tried again.
mark_newest() {
  local folder=$releases/$1
  if [ -e "$folder/DID-NOT-RUN" ]; then mv "$folder/DID-NOT-RUN" "$folder/RELEASE"; fi
  touch "$folder/RELEASE"
}
mark_failed() { mv "$releases/$1/RELEASE" "$releases/$1/DID-NOT-RUN"; }

forget_old_releases() {
  local keep folder name
  keep=$(releases_by_age | head -n "$kept")
  for folder in "$releases"/*/; do
    name=$(basename "$folder")
    [ "$name" = "$(current_release)" ] || grep -qxF -e "$name" <<<"$keep" || { rm -rf "${releases:?}/$name" && step "Release $name is removed."; }
  done
}

# One rename: at every moment, and after a power cut, `current` names a whole release. Its units and settings of systemd come with it.
switch_to() {
  ln -sfn "releases/$1" "$opt/current.new" &&
    mv -T "$opt/current.new" "$opt/current" &&
    install_units "$opt/current/hardware/units" &&
    sync
}

install_units() {
  local from=$1 unit
  mkdir -p "$units" "$prefix/etc/systemd/journald.conf.d" "$prefix/etc/systemd/system.conf.d" &&
    cp "$from"/coatclock*.service "$from"/coatclock*.timer "$units/" &&
    cp "$from/journald.conf" "$prefix/etc/systemd/journald.conf.d/coatclock.conf" &&
    cp "$from/watchdog.conf" "$prefix/etc/systemd/system.conf.d/coatclock.conf" || return 1
  for unit in coatclock.service coatclock-collector@.service coatclock-lamp@.service; do
    { mkdir -p "$units/$unit.d" && cp "$from/hardened.conf" "$units/$unit.d/hardened.conf"; } || return 1
  done
}

# --- what runs -------------------------------------------------------------------------------------------------------

# The parts of Coatclock that start with this machine, one a line.
services() {
  local file
  for file in "$units"/multi-user.target.wants/coatclock.service \
    "$units"/multi-user.target.wants/coatclock-collector@*.service "$units"/multi-user.target.wants/coatclock-lamp@*.service; do
    if [ -L "$file" ]; then basename "$file"; fi
  done
}

port() {
  local set
  set=$(sed -n 's/^COATCLOCK_PORT=//p' "$etc/environment" 2>/dev/null | tail -n 1)
  echo "${set:-8080}"
}

# The version that the running predictor says it is.
version_shown() {
  curl -fsS --max-time 3 "http://127.0.0.1:$(port)/api/health" 2>/dev/null |
    sed -n 's/.*"versions":{"coatclock":"\([^"]*\)".*/\1/p'
}

main_pid() { systemctl show --property MainPID --value "$1" 2>/dev/null || echo 0; }

# The release whose folder a part's process works in, as the kernel knows it.
release_of_process() {
  local pid
  pid=$(main_pid "$1")
  [ "${pid:-0}" -gt 0 ] || return 0
  basename "$(readlink "/proc/$pid/cwd" 2>/dev/null)"
}

# Whether a part runs this release and goes on running: its process works in the release's folder, is the same one some
# seconds later, and the predictor says by itself that it is this version.
runs_release() {
  local unit=$1 name=$2 pid until=$((SECONDS + patience))
  while [ "$SECONDS" -lt "$until" ]; do
    pid=$(main_pid "$unit")
    if [ "$(release_of_process "$unit")" = "$name" ] && { [ "$unit" != coatclock.service ] || [ "$(version_shown)" = "$name" ]; }; then
      sleep "${COATCLOCK_SETTLE:-5}"
      [ "$(main_pid "$unit")" = "$pid" ] && return 0
    fi
    sleep 0.5
  done
  return 1
}

restart_and_prove() {
  local name=$1 unit
  systemctl daemon-reload || return 1
  for unit in $(services); do
    # One that has given up for a while is let try at once.
    systemctl reset-failed "$unit" 2>/dev/null || true
    systemctl restart "$unit" || return 1
  done
  for unit in $(services); do
    if runs_release "$unit" "$name"; then
      step "$unit runs $name: shown by the folder its process works in$([ "$unit" = coatclock.service ] && echo " and by /api/health")."
    else
      warn "$unit does not run $name after $patience s. Its last words:"
      journalctl --unit "$unit" --lines 12 --no-pager --output cat >&2 || true
      return 1
    fi
  done
}

# Switches, starts, and proves. Where that fails, what ran before runs again, and it says so.
activate() {
  local name=$1 before
  before=$(current_release)
  switch_to "$name" || return 1
  if ! systemd_runs; then
    step "No systemd runs here (a chroot?): $name starts with the machine."
    return
  fi
  if restart_and_prove "$name"; then return; fi
  if [ -z "$before" ] || [ "$before" = "$name" ] || [ ! -d "$releases/$before" ]; then
    warn "there is no earlier release to go back to. Put right what stands above, then: sudo systemctl restart $(services | tr '\n' ' ')"
    return 1
  fi
  warn "going back to $before."
  if switch_to "$before" && restart_and_prove "$before"; then
    mark_failed "$name"
    warn "$name did not run; $before runs again."
  else
    warn "$before does not run either: the cause may be elsewhere (the shop file, the disk)."
  fi
  return 1
}
