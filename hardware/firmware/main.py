"""Runs when the board starts."""

import sys
from time import sleep_ms

import config
import machine
import wiring
from station import Station, sensors_of

# Time to stop the program with Ctrl-C after a start, before the watchdog would undo it.
GRACE_MS = 5000


def run():
    uart = wiring.uart()
    write = sys.stdout.write if uart is None else uart.write
    sensors = sensors_of(config.SENSORS, wiring.i2c(), wiring.one_wire())
    sleep_ms(GRACE_MS)
    feed = machine.WDT(timeout=config.WATCHDOG_MS).feed if config.WATCHDOG_MS else lambda: None
    Station(sensors, write, feed, sleep_ms).run(config.PAUSE_MS, machine.reset)


run()
