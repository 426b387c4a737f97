"""Temperature probes DS18B20 on a 1-Wire bus. Powered by their own wire: parasitic power is not provided for."""

CONVERT = 0x44
READ_SCRATCHPAD = 0xBE

# Codes that a probe gives without having measured: after power-on (85.00), and when its power broke down (127.94).
NOT_MEASURED = (0x0550, 0x07FF)


def celsius(code):
    """Of the 16-bit two's complement code, in sixteenths of a degree."""
    return (code - 0x10000 if code & 0x8000 else code) / 16


def rom_of(probe_id, crc8):
    """The eight address bytes of an id as Linux writes it, such as 28-0316a2790fff: family, number backwards, check."""
    family, number = probe_id.split("-")
    rom = bytes([int(family, 16)] + [int(number[at : at + 2], 16) for at in (10, 8, 6, 4, 2, 0)])
    return rom + bytes([crc8(rom)])


def id_of(rom):
    """The id of an address, as Linux writes it."""
    return "%02x-%s" % (rom[0], "".join("%02x" % byte for byte in reversed(bytes(rom[1:7]))))


class Ds18b20:
    """One probe. Call start, wait wait_ms, call read. Raises when nothing answers or what comes is no measurement."""

    wait_ms = 750

    def __init__(self, bus, probe_id, quantity="panel-temperature"):
        self.quantities = (quantity,)
        self._bus = bus
        self._rom = rom_of(probe_id, bus.crc8)

    def start(self):
        self._call(CONVERT)

    def read(self):
        self._call(READ_SCRATCHPAD)
        scratchpad = bytearray(9)
        self._bus.readinto(scratchpad)
        if self._bus.crc8(scratchpad[0:8]) != scratchpad[8]:
            raise ValueError("wrong check from the probe")
        if not any(scratchpad):
            raise ValueError("the data wire is shorted to ground")
        code = scratchpad[1] << 8 | scratchpad[0]
        if code in NOT_MEASURED:
            raise ValueError("the probe has not measured")
        return ((self.quantities[0], celsius(code)),)

    def _call(self, command):
        self._bus.reset(True)
        self._bus.select_rom(self._rom)
        self._bus.writebyte(command)
