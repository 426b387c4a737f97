"""Lists what answers: `mpremote run find.py`. Stop main.py first."""

import wiring
from ds18b20 import id_of

i2c = wiring.i2c()
for address in [] if i2c is None else i2c.scan():
    print("I2C 0x%02x" % address)
bus = wiring.one_wire()
for rom in [] if bus is None else bus.scan():
    print("1-Wire", id_of(rom))
