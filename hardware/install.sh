#!/usr/bin/env bash
# Sets a Raspberry Pi (64-bit Raspberry Pi OS) or another Debian machine up for Coatclock. hardware/set-up.md is its page.
set -euo pipefail
here=$(dirname "$(readlink -f "$0")")
# shellcheck source-path=SCRIPTDIR source=steps.sh
. "$here/steps.sh"
source=$(dirname "$here")

usage="sudo bash hardware/install.sh [--role ROLE …] [options]

  --role predictor    the shop's one: pages, records, and the collectors and lamps that run beside it
  --role collector    reads sensors for a predictor on another machine; needs --collector
  --role lamp         switches lamps for a predictor on another machine; needs --lamp
  --role wall         shows a wall's page on this machine's screen; needs --wall
  --shop FILE         copied to /etc/coatclock/shop.yaml unless one is there
  --collector NAME    which of the shop file's collectors runs here (may be repeated)
  --lamp NAME         which of the shop file's lamps runs here (may be repeated)
  --wall PLACE|URL    a place of this machine's predictor, or http://other-machine:8080/wall/PLACE
  --backup-to FOLDER  copy the data there every night: where a stick or a network disk is mounted
  --check             say what would be done, and do nothing
  --help

Without --role: what this machine does already, and on a new one predictor. It may be run again at any time."

# --- what is asked for -----------------------------------------------------------------------------------------------

roles=() collectors=() lamps=() shop='' wall='' backup_to='' check=no
misuse() { refuse "$1" "$(printf '%s\n' "$usage" | head -n 1)" "--help says more."; }
while [ $# -gt 0 ]; do
  case $1 in
    --help | -h)
      say "$usage"
      exit 0
      ;;
    --check)
      check=yes
      shift
      continue
      ;;
    --role | --shop | --collector | --lamp | --wall | --backup-to) [ -n "${2:-}" ] || misuse "$1 needs a value." ;;
    *) misuse "$1 is not known." ;;
  esac
  case $1 in
    --role)
      case $2 in predictor | collector | lamp | wall) roles+=("$2") ;; *) misuse "--role $2: expected predictor, collector, lamp or wall." ;; esac
      ;;
    --shop) shop=$2 ;;
    --collector) collectors+=("$2") ;;
    --lamp) lamps+=("$2") ;;
    --wall) wall=$2 ;;
    --backup-to) backup_to=$2 ;;
  esac
  shift 2
done

has_role() { [[ " ${roles[*]} " == *" $1 "* ]]; }
is_enabled() { compgen -G "$units/multi-user.target.wants/$1" >/dev/null; }

roles_here() {
  if is_enabled coatclock.service; then roles+=(predictor); fi
  if is_enabled 'coatclock-collector@*.service'; then roles+=(collector); fi
  if is_enabled 'coatclock-lamp@*.service'; then roles+=(lamp); fi
  if is_enabled coatclock-wall.service; then roles+=(wall); fi
  if [ ${#roles[@]} -eq 0 ]; then roles=(predictor); fi
}
[ ${#roles[@]} -gt 0 ] || roles_here
runs_program() { has_role predictor || has_role collector || has_role lamp; }

# --- what can't be done ----------------------------------------------------------------------------------------------

[ "$check" = yes ] || must_be_root
[ -r "$prefix/etc/os-release" ] || refuse "this is no Linux with /etc/os-release." "Use 64-bit Raspberry Pi OS."
system=$(sed -n 's/^\(ID\|ID_LIKE\)=//p' "$prefix/etc/os-release" | tr -d '"' | tr '\n' ' ')
if ! [[ " $system" == *\ debian\ * || " $system" == *\ raspbian\ * ]] || ! command -v apt-get dpkg systemctl >/dev/null; then
  refuse "this is not Debian or made from it (it says: ${system:-nothing})." "Use 64-bit Raspberry Pi OS."
fi
machine=$(dpkg --print-architecture)
case $machine in
  arm64 | amd64) ;;
  *) refuse "this system is built for $machine, and Coatclock needs a 64-bit one." "Write the card anew with 64-bit Raspberry Pi OS." ;;
esac
[ -z "$shop" ] || [ -r "$shop" ] || refuse "--shop $shop can't be read." "Look at the path."
name_form='^[a-z0-9]([a-z0-9-]*[a-z0-9])?$'
for name in "${collectors[@]}" "${lamps[@]}"; do
  [[ $name =~ $name_form ]] || refuse "$name is no name of the shop file: lower-case letters, digits and hyphens."
done
if has_role collector && [ ${#collectors[@]} -eq 0 ] && ! is_enabled 'coatclock-collector@*.service'; then
  misuse "--role collector needs --collector NAME."
fi
if has_role lamp && [ ${#lamps[@]} -eq 0 ] && ! is_enabled 'coatclock-lamp@*.service'; then
  misuse "--role lamp needs --lamp NAME."
fi
if [ ${#collectors[@]} -gt 0 ] && ! has_role collector; then misuse "--collector goes with --role collector."; fi
if [ ${#lamps[@]} -gt 0 ] && ! has_role lamp; then misuse "--lamp goes with --role lamp."; fi
if has_role wall && [ -z "$wall" ] && [ ! -e "$etc/wall-environment" ]; then misuse "--role wall needs --wall PLACE or URL."; fi
case $wall in
  '' | http://* | https://*) ;;
  *) [[ $wall =~ $name_form ]] || refuse "--wall $wall: expected a place of the shop file, or an address that begins with http."
    has_role predictor || misuse "--wall $wall: without a predictor on this machine, say the whole address of its wall." ;;
esac
if { has_role collector || has_role lamp; } && ! has_role predictor && [ -z "$shop" ] && [ ! -e "$etc/shop.yaml" ]; then
  refuse "a collector or lamp on its own needs the shop file." "Copy it here from the predictor's machine and say --shop FILE."
fi
if [ -n "$backup_to" ]; then
  has_role predictor || misuse "--backup-to goes with --role predictor: the data is there."
  [[ $backup_to == /* && $backup_to != *[[:space:]]* ]] || refuse "--backup-to $backup_to: expected a path from / without spaces."
fi

# --- Debian's packages -----------------------------------------------------------------------------------------------

needed_node=20.19
has_node() {
  local version
  version=$("$node" -v 2>/dev/null) && dpkg --compare-versions "${version#v}" ge "$needed_node" && command -v npm >/dev/null
}
is_installed() { [ "$(dpkg-query --show --showformat='${db:Status-Status}' "$1" 2>/dev/null)" = installed ]; }

wanted=(ca-certificates curl)
if runs_program; then
  has_node || wanted+=(nodejs npm)
  # A compiler for the clock probe, and for the database where no ready-made one can be had.
  wanted+=(gcc g++ make python3)
  # Time from the network, and what vouches for it.
  is_installed chrony || is_installed ntpsec || wanted+=(systemd-timesyncd)
fi
if has_role predictor || has_role lamp; then wanted+=(gpiod); fi
if has_role wall; then wanted+=(cage chromium libpam-systemd dbus fonts-dejavu-core); fi
missing=()
for package in "${wanted[@]}"; do is_installed "$package" || missing+=("$package"); done

node_remedy=(
  "Raspberry Pi OS made from Debian 13 (trixie) or newer has it: write the card anew with that."
  "Or install Node $needed_node or newer with npm as /usr/bin/node by other means, and run this again."
)
# Said before anything is installed.
refuse_old_node() {
  local offered
  runs_program && ! has_node || return 0
  offered=$(apt-cache policy nodejs 2>/dev/null | sed -n 's/^ *Candidate: *//p')
  case $offered in '' | '(none)') refuse "this system offers no Node." "${node_remedy[@]}" ;; esac
  dpkg --compare-versions "$offered" ge "$needed_node" ||
    refuse "Coatclock needs Node $needed_node or newer, and this system offers $offered." "${node_remedy[@]}"
}

if [ "$check" = yes ]; then
  say "Nothing is done; this would be:"
  step "Roles: ${roles[*]}."
  if [ ${#missing[@]} -gt 0 ]; then step "Install from Debian: ${missing[*]}."; else step "All Debian packages are there."; fi
  refuse_old_node
  if runs_program; then
    step "Accounts: coatclock (runs it), $builder (builds it); neither may log in."
    if ! has_node; then
      step "Build a release in $releases."
    elif name=$(release_name "$source") && [ -d "$releases/$name" ]; then
      step "Release $name is built already."
    else
      step "Build release $name in $releases."
    fi
    if [ -e "$etc/shop.yaml" ]; then step "Keep $etc/shop.yaml."; else step "Copy ${shop:-the invented rehearsal shop} to $etc/shop.yaml."; fi
    step "Data in $data, settings in $etc/environment."
  fi
  if has_role predictor; then step "Start coatclock.service and coatclock-watch.timer, now and with the machine."; fi
  for name in "${collectors[@]}"; do step "Start coatclock-collector@$name.service, now and with the machine."; done
  for name in "${lamps[@]}"; do step "Start coatclock-lamp@$name.service, now and with the machine."; done
  if has_role wall; then step "Account coatclock-wall; show ${wall:-what $etc/wall-environment says} on the screen."; fi
  if [ -n "$backup_to" ]; then step "Copy the data to $backup_to every night."; fi
  step "Limit the system's log to 64 MB; have the machine's watchdog restart it when it hangs."
  exit 0
fi

if [ ${#missing[@]} -gt 0 ]; then
  step "Installing from Debian: ${missing[*]} …"
  export DEBIAN_FRONTEND=noninteractive
  apt-get update -q
  refuse_old_node
  apt-get install -y -q --no-install-recommends "${missing[@]}"
fi
if runs_program && ! has_node; then
  refuse "Coatclock needs Node $needed_node or newer with npm as $node; found $("$node" -v 2>/dev/null || echo none)." "${node_remedy[@]}"
fi

# --- accounts, folders, settings -------------------------------------------------------------------------------------

account() {
  local name=$1 home=$2 group
  shift 2
  if ! getent passwd "$name" >/dev/null; then
    step "Making the account $name, which may not log in."
    useradd --system --user-group --home-dir "$home" --no-create-home --shell /usr/sbin/nologin "$name"
  fi
  for group in "$@"; do
    if getent group "$group" >/dev/null; then usermod --append --groups "$group" "$name"; fi
  done
}

# What holds a secret is the service account's alone; the program refuses it otherwise.
set_modes() {
  local file
  chown root:coatclock "$etc"
  chmod 750 "$etc"
  find "$etc" -type f | while read -r file; do
    if [[ $file == *.key ]] || grep -qsE '^(password|username):|PRIVATE KEY' "$file"; then
      chown coatclock:coatclock "$file"
      chmod 600 "$file"
    else
      chown root:coatclock "$file"
      chmod 640 "$file"
    fi
  done
}

# Sets a line NAME=value of a settings file.
set_line() {
  local file=$1 key=$2 value=$3
  touch "$file"
  { grep -v "^$key=" "$file" || true; } >"$file.new"
  printf '%s=%s\n' "$key" "$value" >>"$file.new"
  mv "$file.new" "$file"
}

mkdir -p "$etc"
if runs_program; then
  account coatclock "$data" dialout gpio i2c
  account "$builder" /nonexistent
  install -d -o coatclock -g coatclock -m 750 "$data"
  build_release "$source" "$(release_name "$source")"

  if [ -e "$etc/shop.yaml" ]; then
    step "Keeping $etc/shop.yaml."
    if [ -n "$shop" ] && ! cmp -s "$shop" "$etc/shop.yaml"; then
      warn "$shop differs from it. To use yours: sudo cp $shop $etc/shop.yaml, then run this again."
    fi
  else
    if [ -z "$shop" ]; then warn "no shop file was given: an invented shop rehearses. Write yours as $etc/shop.yaml."; fi
    cp "${shop:-$source/predictor/rehearsal-shop.yaml}" "$etc/shop.yaml"
    step "Copied ${shop:-the rehearsal shop} to $etc/shop.yaml."
  fi
  if [ ! -e "$etc/environment" ]; then
    printf '%s\n' "# Settings of Coatclock's services, read at their start. The port of the pages goes before the shop file's." >"$etc/environment"
    set_line "$etc/environment" COATCLOCK_PORT 8080
    set_line "$etc/environment" COATCLOCK_LOG info
  fi
  if [ -n "$backup_to" ]; then set_line "$etc/environment" COATCLOCK_BACKUP_TO "$backup_to"; fi
  set_modes
  install -D -m 755 "$here/coatclock" "$prefix/usr/local/sbin/coatclock"
fi
if has_role wall; then
  account coatclock-wall /run/coatclock-wall video render input
  if [ -n "$wall" ]; then
    case $wall in http*) ;; *) wall=http://localhost:$(port)/wall/$wall ;; esac
    set_line "$etc/wall-environment" COATCLOCK_WALL "$wall"
  fi
  install -D -m 755 "$here/wall.sh" "$opt/wall.sh"
  if [ -e "$prefix/etc/systemd/system/display-manager.service" ]; then
    warn "this image starts a desktop, which takes the screen. Turn it off: sudo systemctl set-default multi-user.target, then restart."
  fi
fi

# --- what starts with the machine ------------------------------------------------------------------------------------

install_units "$here/units"
starts=()
if has_role predictor; then starts+=(coatclock.service coatclock-watch.timer); fi
for name in "${collectors[@]}"; do starts+=("coatclock-collector@$name.service"); done
for name in "${lamps[@]}"; do starts+=("coatclock-lamp@$name.service"); done
if has_role wall; then starts+=(coatclock-wall.service); fi
if [ -n "$backup_to" ]; then starts+=(coatclock-backup.timer); fi
if [ ${#starts[@]} -gt 0 ]; then
  step "Starting with the machine from now on: ${starts[*]}."
  systemctl enable --quiet "${starts[@]}"
fi
if systemd_runs; then
  systemctl daemon-reload
  step "Setting the log's limit and the watchdog."
  systemctl restart systemd-journald.service
  systemctl daemon-reexec
fi

worked=yes
if runs_program; then
  name=$(release_name "$source")
  mark_newest "$name"
  activate "$name" || worked=no
  if [ "$worked" = yes ]; then forget_old_releases; fi
fi
if systemd_runs; then
  for unit in "${starts[@]}"; do
    case $unit in *.timer | coatclock-wall.service) systemctl restart "$unit" ;; esac
  done
fi

# --- how it stands ---------------------------------------------------------------------------------------------------

say ""
if runs_program; then say "Release: $(current_release), in $releases/$(current_release)"; fi
if systemd_runs; then
  for unit in $(services); do say "$unit: $(systemctl is-active "$unit" || true), runs $(release_of_process "$unit")"; done
  if has_role predictor; then say "/api/health says version: $(version_shown || true)"; fi
fi
say "Next:"
if runs_program; then
  say "  - Find what is attached:      sudo coatclock --find-sensors"
  say "  - Write the shop file:        sudo nano $etc/shop.yaml, then sudo systemctl restart $(services | tr '\n' ' ')"
  say "  - Read the log:               journalctl -u 'coatclock*' -f"
fi
if has_role predictor; then
  say "  - Open the pages:             http://$(uname -n):$(port)/"
  say "  - A collector elsewhere:      sudo coatclock --add-collector NAME"
  grep -qs '^COATCLOCK_BACKUP_TO=' "$etc/environment" ||
    say "  - Copies off the card:        sudo bash hardware/install.sh --backup-to FOLDER"
fi
if runs_program; then say "  - Update and roll back:       sudo bash hardware/update.sh, sudo bash hardware/update.sh --back"; fi
[ "$worked" = yes ]
