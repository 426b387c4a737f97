#!/usr/bin/env bash
# Run by try-in-root.sh as the first process of new namespaces: makes FOLDER the root and becomes its systemd.
set -euo pipefail
mount --make-rprivate /
mount --bind "$1" "$1"
cd "$1"
mount -t proc proc proc
mount -t sysfs sys sys
mount -t cgroup2 cgroup2 sys/fs/cgroup
mount -t tmpfs -o mode=755 dev dev
for device in null zero full random urandom tty; do
  touch "dev/$device"
  mount --bind "/dev/$device" "dev/$device"
done
# For the closed and the open devices: one that anyone may open, and a serial converter that is not plugged in.
mknod -m 666 dev/fuse c 10 229
mknod -m 660 dev/ttyUSB0 c 188 0
chgrp 20 dev/ttyUSB0 # dialout
mkdir dev/pts dev/shm
mount -t devpts -o newinstance,ptmxmode=0666,mode=620 devpts dev/pts
ln -s pts/ptmx dev/ptmx
ln -s /proc/self/fd dev/fd
mount -t tmpfs -o mode=755 run run
mkdir -p mnt/old mnt/stick
pivot_root . mnt/old
cd /
umount -l /mnt/old
mount -t tmpfs stick /mnt/stick
exec env -i container=try-in-root PATH=/usr/sbin:/usr/bin:/sbin:/bin /sbin/init --log-target=console --show-status=no
