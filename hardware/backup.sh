#!/usr/bin/env bash
# Copies Coatclock's data and settings to another disk while it runs, checks the copy, and keeps the last ones; restores one.
set -euo pipefail
here=$(dirname "$(readlink -f "$0")")
# shellcheck source-path=SCRIPTDIR source=steps.sh
. "$here/steps.sh"

usage="sudo bash hardware/backup.sh [--to FOLDER] [--keep N] [--same-disk]
sudo bash hardware/backup.sh --check COPY      whether a copy is whole
sudo bash hardware/backup.sh --restore COPY    into a machine whose data folder holds no records

  --to FOLDER   where the other disk is mounted; COATCLOCK_BACKUP_TO in /etc/coatclock/environment unless said
  --keep N      how many copies stay there (14)
  --same-disk   copy though FOLDER lies on the same disk as the data: no help when the card dies

A copy holds the passwords and keys of /etc/coatclock: keep the disk where only the right people reach it."

task=copy to=${COATCLOCK_BACKUP_TO:-} keep=14 same_disk=no
while [ $# -gt 0 ]; do
  case $1 in
    --help | -h)
      say "$usage"
      exit 0
      ;;
    --same-disk)
      same_disk=yes
      shift
      continue
      ;;
    --to | --keep | --check | --restore) [ -n "${2:-}" ] || refuse "$1 needs a value." "--help says more." ;;
    *) refuse "$1 is not known." "--help says more." ;;
  esac
  case $1 in
    --to) to=$2 ;;
    --keep) keep=$2 ;;
    --check | --restore) task=${1#--} from=$2 ;;
  esac
  shift 2
done

# Beside the installed program's libraries, else this copy's own.
copier=$opt/current/hardware/backup-copy.mjs
[ -e "$copier" ] || copier=$here/backup-copy.mjs

if [ "$task" != copy ]; then
  [ -e "$from/data/contents.json" ] || refuse "$from is no copy made by this program." "Name the folder coatclock-<date>."
fi
if [ "$task" = check ]; then exec "$node" "$copier" check "$from/data"; fi
must_be_root

if [ "$task" = restore ]; then
  if systemctl is-active --quiet coatclock.service; then
    refuse "Coatclock runs." "First: sudo systemctl stop coatclock.service coatclock-watch.timer"
  fi
  for file in records.db people.db readings.db; do
    [ ! -e "$data/$file" ] || refuse "$data/$file is there and would be lost." "Move the files of $data away first."
  done
  step "Checking $from …"
  "$node" "$copier" check "$from/data" || refuse "the copy is damaged: take another."
  mkdir -p "$data" "$etc"
  find "$from/data" -mindepth 1 -maxdepth 1 ! -name contents.json -exec cp -R -t "$data" {} +
  "$node" "$copier" check "$from/data" >/dev/null
  cp -Rn "$from/etc/." "$etc/"
  if getent passwd coatclock >/dev/null && [ -z "$prefix" ]; then
    chown -R coatclock:coatclock "$data"
    find "$data" -maxdepth 2 -type f -exec chmod 640 {} +
    find "$data" -maxdepth 1 \( -name "*.yaml" -o -name people.db \) -exec chmod 600 {} +
  fi
  step "Restored to $data; settings that were missing in $etc came back too, those there stayed."
  say "Next: sudo bash hardware/install.sh (sets the files' owners, starts Coatclock)"
  exit
fi

[ -n "$to" ] || refuse "it is not said where to copy to." "Say --to FOLDER, or COATCLOCK_BACKUP_TO=FOLDER in $etc/environment."
[[ $keep =~ ^[1-9][0-9]*$ ]] || refuse "--keep $keep: expected a whole number from 1."
[ -d "$to" ] || refuse "$to is not there." "Mount the stick or the network disk first."
if [ "$same_disk" = no ] && [ "$(stat -c %d "$to")" = "$(stat -c %d "$data")" ]; then
  refuse "$to lies on the same disk as the data: is the stick mounted?" "A copy there dies with the card. To do it all the same: --same-disk"
fi

copy=$to/coatclock-$(date -u +%Y-%m-%dT%H-%M-%SZ)
umask 077
rm -rf "$to"/.coatclock-part.* # of a run that was cut short
part=$(mktemp -d "$to/.coatclock-part.XXXXXX")
trap 'rm -rf "$part"' EXIT
mkdir "$part/data"
step "Copying $data to $copy …"
"$node" "$copier" copy "$data" "$part/data" || refuse "the copy failed; the earlier ones in $to are untouched."
# Plain files, since a stick's file system may know no owners.
if [ -d "$etc" ]; then cp -R --no-preserve=all "$etc" "$part/etc"; fi
sync -f "$part"
mv -T "$part" "$copy"
sync -f "$to"
trap - EXIT
find "$to" -maxdepth 1 -type d -name 'coatclock-20*' -printf '%f\n' | sort | head -n "-$keep" | while read -r old; do
  rm -rf "${to:?}/$old"
  step "Removed the old copy $old."
done
step "Done: $copy"
