"""Infrared thermometer MLX90614 on I2C (SMBus): the surface it looks at, by the emissivity set in the chip."""

from line import crc8

OBJECT_TEMPERATURE = 0x07


def celsius(raw):
    return raw * 0.02 - 273.15


class Mlx90614:
    """One sensor; it measures all the time. Raises OSError without an answer, ValueError on a wrong check or on its flag."""

    wait_ms = 0

    def __init__(self, i2c, address=0x5A, quantity="panel-temperature"):
        self.quantities = (quantity,)
        self._i2c = i2c
        self._address = address

    def start(self):
        pass

    def read(self):
        low, high, check = self._i2c.readfrom_mem(self._address, OBJECT_TEMPERATURE, 3)
        sent = bytes((self._address << 1, OBJECT_TEMPERATURE, self._address << 1 | 1, low, high))
        if crc8(sent, 0x07, 0x00) != check:
            raise ValueError("wrong check from the sensor")
        if high & 0x80:
            raise ValueError("the sensor says that it failed")
        return ((self.quantities[0], celsius(high << 8 | low)),)
