"""A 1-Wire bus with the methods of MicroPython's own module. A probe answers when it is addressed after a reset."""

import board


class OneWireError(Exception):
    pass


class OneWire:
    def __init__(self, pin):
        self._rom = None

    def scan(self):
        return [bytearray(rom) for rom in sorted(board.scratchpads)]

    def reset(self, required=False):
        self._rom = None
        if required and not board.scratchpads:
            raise OneWireError()
        return bool(board.scratchpads)

    def select_rom(self, rom):
        self._rom = bytes(rom)

    def writebyte(self, command):
        board.done.append("%02X to %02x" % (command, self._rom[0]))

    def readinto(self, buffer):
        # Nobody pulls the wire down where no such probe is: all ones.
        buffer[:] = board.scratchpads.get(self._rom, b"\xff" * 9)

    def crc8(self, data):
        """Polynomial 31, least significant bit first, start 0: application note 27 of the bus's maker."""
        crc = 0
        for byte in data:
            crc ^= byte
            for _ in range(8):
                crc = crc >> 1 ^ 0x8C if crc & 1 else crc >> 1
        return crc
