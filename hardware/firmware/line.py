"""The text protocol of docs/serial-line.md: a line of ASCII for one sensor, with a check at its end."""

QUANTITIES = ("air-temperature", "air-humidity", "panel-temperature", "air-speed", "air-pressure")


def crc8(data, polynomial=0x31, crc=0xFF):
    """CRC-8, most significant bit first, nothing inverted. As it stands: the protocol's and the SHT chips' check."""
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = ((crc << 1) ^ polynomial if crc & 0x80 else crc << 1) & 0xFF
    return crc


def line_of(sensor, values):
    """The line for (quantity, number) pairs, LF included. Leaves out what is no finite number; None if nothing is left."""
    fields = ["%s=%.2f" % pair for pair in values if -1e6 < pair[1] < 1e6]
    if not fields:
        return None
    body = sensor + " " + " ".join(fields)
    return "%s crc=%02X\n" % (body, crc8(body.encode()))
