"""Measures in rounds and writes what was measured. Knows the hardware only as it is handed in."""

import re

from ds18b20 import Ds18b20
from line import QUANTITIES, line_of
from mlx90614 import Mlx90614
from sht import sht3x, sht4x

I2C_CHIPS = {"sht3x": sht3x, "sht4x": sht4x, "mlx90614": Mlx90614}

# A watchdog is fed at least this often while nothing is to be done.
REST_MS = 500

# So many rounds without a single value, and the board is started anew: a stuck bus may come free.
SILENT_ROUNDS = 12


def sensors_of(settings, i2c, one_wire):
    """The instruments for the SENSORS of config.py. Raises ValueError in words on what does not fit."""
    sensors = []
    for name, chips in settings:
        if len(name) > 63 or not re.match("^[a-z0-9][a-z0-9-]*$", name):
            raise ValueError("sensor %s: expected lower-case letters, digits and hyphens, at most 63" % name)
        if name in [known for known, _ in sensors]:
            raise ValueError("sensor %s stands there twice" % name)
        instruments = [instrument_of(chip, i2c, one_wire) for chip in chips]
        quantities = [quantity for instrument in instruments for quantity in instrument.quantities]
        for quantity in quantities:
            if quantity not in QUANTITIES:
                raise ValueError("sensor %s: no quantity is called %s" % (name, quantity))
            if quantities.count(quantity) > 1:
                raise ValueError("sensor %s: %s comes from two chips; give one another name" % (name, quantity))
        sensors.append((name, instruments))
    return sensors


def instrument_of(chip, i2c, one_wire):
    kind = chip[0]
    if kind == "ds18b20":
        if one_wire is None:
            raise ValueError("ds18b20: ONE_WIRE_PIN is not set")
        return Ds18b20(one_wire, *chip[1:])
    if kind not in I2C_CHIPS:
        raise ValueError("no chip is called %s" % kind)
    if i2c is None:
        raise ValueError("%s: I2C is not set" % kind)
    return I2C_CHIPS[kind](i2c, *chip[1:])


class Station:
    """write takes a line of text, feed the watchdog's call, sleep_ms milliseconds."""

    def __init__(self, sensors, write, feed, sleep_ms):
        self._sensors = sensors
        self._write = write
        self._feed = feed
        self._sleep_ms = sleep_ms

    def round(self):
        """Starts all instruments, waits for the slowest, reads each, writes each line at once. Says how many it wrote."""
        everything = [instrument for _, instruments in self._sensors for instrument in instruments]
        started = [instrument for instrument in everything if self._try(instrument.start)]
        self.rest(max([instrument.wait_ms for instrument in started] + [0]))
        lines = 0
        for name, instruments in self._sensors:
            values = []
            for instrument in instruments:
                if instrument in started:
                    self._try(lambda: values.extend(instrument.read()))
            line = line_of(name, values)
            if line is not None:
                self._write(line)
                lines += 1
        return lines

    def rest(self, ms):
        """Waits and keeps the watchdog fed."""
        while ms > 0:
            self._sleep_ms(min(ms, REST_MS))
            self._feed()
            ms -= REST_MS

    def run(self, pause_ms, reset):
        """For ever. reset starts the board anew."""
        silent_rounds = 0
        while True:
            silent_rounds = 0 if self.round() else silent_rounds + 1
            if silent_rounds >= SILENT_ROUNDS:
                reset()
            self.rest(pause_ms)

    def _try(self, act):
        """Whether it went without an error. A sensor that fails costs its own values of this round and nothing else."""
        self._feed()
        try:
            act()
            return True
        except Exception:
            return False
