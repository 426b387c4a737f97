"""Humidity sensors SHT3x and SHT4x on I2C. Formulas and check: the maker's data sheets; commands from memory for SHT3x."""

from line import crc8


def celsius(ticks):
    return -45 + 175 * ticks / 65535


def percent_sht3x(ticks):
    return 100 * ticks / 65535


def percent_sht4x(ticks):
    """The formula reaches beyond 0 and 100 %, by design; what is beyond is cut off."""
    return min(100, max(0, -6 + 125 * ticks / 65535))


class Sht:
    """One sensor. Call start, wait wait_ms, call read. Raises OSError without an answer, ValueError on a wrong check."""

    wait_ms = 20  # at most 8.3 ms (SHT4x) and 15.5 ms (SHT3x, from memory) at the highest repeatability
    quantities = ("air-temperature", "air-humidity")

    def __init__(self, i2c, address, command, percent):
        self._i2c = i2c
        self._address = address
        self._command = command
        self._percent = percent

    def start(self):
        self._i2c.writeto(self._address, self._command)

    def read(self):
        answer = self._i2c.readfrom(self._address, 6)
        return (
            ("air-temperature", celsius(word(answer[0:3]))),
            ("air-humidity", self._percent(word(answer[3:6]))),
        )


def sht3x(i2c, address=0x44):
    """Single shot, high repeatability, no clock stretching."""
    return Sht(i2c, address, b"\x24\x00", percent_sht3x)


def sht4x(i2c, address=0x44):
    """High precision, heater off."""
    return Sht(i2c, address, b"\xfd", percent_sht4x)


def word(three):
    """The number in two bytes and their check."""
    if crc8(three[0:2]) != three[2]:
        raise ValueError("wrong check from the sensor")
    return three[0] << 8 | three[1]
