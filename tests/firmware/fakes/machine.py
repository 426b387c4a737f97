"""The board's own module, as far as the firmware uses it."""

import board

reset = board.reset


class Pin:
    def __init__(self, number):
        self.number = number


class I2C:
    def __init__(self, id, scl, sda, freq):
        self._written = {}

    def scan(self):
        return sorted(board.chips)

    def writeto(self, address, data):
        self._chip(address)
        self._written[address] = bytes(data)

    def readfrom(self, address, count):
        return self._chip(address)(self._written.pop(address))[:count]

    def readfrom_mem(self, address, register, count):
        return self._chip(address)(bytes([register]))[:count]

    def _chip(self, address):
        if address not in board.chips:
            raise OSError(19)
        return board.chips[address]


class UART:
    def __init__(self, id, baudrate, tx, rx):
        self._name = "uart %d at %d: " % (id, baudrate)

    def write(self, text):
        board.write(self._name + text)


class WDT:
    def __init__(self, timeout):
        board.done.append("watchdog %d" % timeout)

    def feed(self):
        board.feed()
