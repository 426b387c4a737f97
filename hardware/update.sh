#!/usr/bin/env bash
# Builds a release from this copy of the project beside the one that runs, switches to it, and proves that it runs; else goes back.
set -euo pipefail
here=$(dirname "$(readlink -f "$0")")
# shellcheck source-path=SCRIPTDIR source=steps.sh
. "$here/steps.sh"
source=$(dirname "$here")

usage="sudo bash hardware/update.sh          update to this copy of the project (after: git pull)
sudo bash hardware/update.sh --back   go back to the release before
sudo bash hardware/update.sh --list   the releases on this machine, newest first, and which one runs
sudo bash hardware/update.sh --check  say what an update would do, and do nothing"

task=${1:-update}
case $task in
  --help | -h)
    say "$usage"
    exit 0
    ;;
  update | --back | --list | --check) [ $# -le 1 ] || refuse "one thing at a time." "$usage" ;;
  *) refuse "$task is not known." "$usage" ;;
esac

[ -L "$opt/current" ] || refuse "Coatclock is not installed here." "First: sudo bash hardware/install.sh"

if [ "$task" = --list ]; then
  for name in $(releases_by_age); do
    if [ "$name" = "$(current_release)" ]; then say "$name  (current)"; else say "$name"; fi
  done
  for unit in $(services); do say "$unit runs: $(release_of_process "$unit")"; done
  exit 0
fi

if [ "$task" = --check ]; then
  name=$(release_name "$source")
  if [ "$name" = "$(current_release)" ]; then
    step "Release $name is the current one: there is nothing to do but to restart it."
  else
    if [ -d "$releases/$name" ]; then step "Release $name is built already."; else step "Build release $name."; fi
    step "Switch from $(current_release) to $name and restart: $(services | tr '\n' ' ')"
  fi
  exit 0
fi

must_be_root
if [ "$task" = --back ]; then
  name=$(release_before "$(current_release)")
  [ -n "$name" ] || refuse "there is no release before $(current_release) on this machine." "Check out the older source and run update.sh from it."
  step "Going back from $(current_release) to $name."
  activate "$name"
  exit
fi

name=$(release_name "$source")
build_release "$source" "$name"
mark_newest "$name"
step "Switching from $(current_release) to $name."
if ! activate "$name"; then exit 1; fi
forget_old_releases
