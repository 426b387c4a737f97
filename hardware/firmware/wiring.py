"""Opens what config.py names, on a real board."""

from machine import I2C, Pin, UART
from onewire import OneWire

import config


def i2c():
    """At 100 kHz: as fast as the infrared chip's SMBus goes, and kinder to wires."""
    if config.I2C is None:
        return None
    return I2C(config.I2C["id"], scl=Pin(config.I2C["scl"]), sda=Pin(config.I2C["sda"]), freq=100000)


def one_wire():
    return None if config.ONE_WIRE_PIN is None else OneWire(Pin(config.ONE_WIRE_PIN))


def uart():
    if config.UART is None:
        return None
    pins = config.UART
    return UART(pins["id"], baudrate=pins["baud"], tx=Pin(pins["tx"]), rx=Pin(pins["rx"]))
