"""What the fake board holds and what was done with it."""

chips = {}  # I2C address: a function of the bytes written to it, giving the bytes it answers; may raise
scratchpads = {}  # 1-Wire address of eight bytes: what the probe answers
done = []  # what happened, in order


class Over(BaseException):
    """Ends a program that would run for ever."""


def write(line):
    done.append(line.rstrip("\n"))
    print(line, end="")


def feed():
    done.append("fed")


def sleep_ms(ms):
    done.append(ms)


def reset():
    done.append("reset")
