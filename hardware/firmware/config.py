# What is joined to this board. An example: change it to what you have. README.md explains it.

# Name of the shop file, then the chips that measure for it. `mpremote run find.py` lists what answers.
SENSORS = [
    ("bay-2", [("sht4x", 0x44), ("ds18b20", "28-0316a2790fff", "panel-temperature")]),
    ("bay-2-check", [("sht3x", 0x45)]),
]

# Pins by the board's numbers. None where nothing is joined.
I2C = {"id": 0, "scl": 5, "sda": 4}
ONE_WIRE_PIN = 22

# Between two rounds of measuring.
PAUSE_MS = 5000

# The board starts anew when the program stands still for so long; some boards bear no more than 8388. 0 for none.
WATCHDOG_MS = 8000

# None: lines go out by USB. For an RS-485 or RS-232 converter on the board's pins: {"id": 1, "tx": 8, "rx": 9, "baud": 9600}
UART = None
