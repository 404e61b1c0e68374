"""A scale that shares no code with the program: written with pyserial, on its own end of a cable of two pseudo-terminals.

Prints the path to listen at, then obeys lines on standard input: `put GRAMS` adds to the load, `end` ends.
"""

import os
import sys
import termios
import threading
import time
import tty

import serial


def pseudo_terminal():
    near, far = os.openpty()
    tty.setraw(near, termios.TCSANOW)
    tty.setraw(far, termios.TCSANOW)
    return near, far, os.ttyname(far)


def carry(source, target):
    while True:
        data = os.read(source, 4096)
        if not data:
            return
        os.write(target, data)


def main():
    scale_near, _scale_far, scale_path = pseudo_terminal()
    host_near, _host_far, host_path = pseudo_terminal()
    threading.Thread(target=carry, args=(scale_near, host_near), daemon=True).start()
    port = serial.Serial(scale_path, 9600, bytesize=8, parity="N", stopbits=1, timeout=1)
    load = 0
    lock = threading.Lock()

    def speak():
        shown = None
        while True:
            with lock:
                now = load
            header = "ST" if now == shown else "US"
            shown = now
            sign = "-" if now < 0 else "+"
            kilograms, grams = divmod(abs(now), 1000)
            port.write(f"{header},GS,{sign}{kilograms:4d}.{grams:03d}kg\r\n".encode("ascii"))
            time.sleep(0.1)

    threading.Thread(target=speak, daemon=True).start()
    print(host_path, flush=True)
    for line in sys.stdin:
        words = line.split()
        if words[:1] == ["put"]:
            with lock:
                load += int(words[1])
        elif words[:1] == ["end"]:
            return


main()
