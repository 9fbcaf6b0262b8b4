#!/usr/bin/env python3
"""A board for hilrig in a page: it measures the throttle pulse, sends it to all four motors every
4 ms, and sends idle once no good pulse came for 100 ms. It shifts nothing.

    hilrig play --board-command 'python3 board.py'

Its argument, where there is one, is a mistake of faults.yaml, or none.

Times are nanoseconds of virtual time. What firmware does in an interrupt stands in Board.edge,
what it does when a timer fires in Board.fire; each timer is one entry in self.due.
"""
import sys

US, MS = 1_000, 1_000_000
IDLE, FULL = 1000 * US, 2000 * US
MISTAKE = sys.argv[1] if len(sys.argv) > 1 else "none"
MOTORS = ["motor_front_left", "motor_front_right", "motor_rear_left", "motor_rear_right"]


class Board:
    def __init__(self, drive, capture, now):
        self.throttle = drive.index("throttle")
        self.motors = [capture.index(name) for name in MOTORS]
        self.rose = self.heard = None  # when the pulse began, when the last good one ended
        self.width = IDLE
        self.due = {"period": now + 4 * MS}  # by timer: when it fires next

    def edge(self, at, line, level):
        if line != self.throttle:
            return
        if level:
            self.rose = at
        elif self.rose is not None and 800 * US <= at - self.rose <= 2200 * US:
            self.width, self.heard = min(max(at - self.rose, IDLE), FULL), at
            if MISTAKE == "half":
                self.width = IDLE + (self.width - IDLE) // 2

    def fire(self, timer, at, out):
        lost = self.heard is None or at - self.heard > 100 * MS and MISTAKE != "throttle_held"
        if timer == "period":
            self.due = {"period": at + 4 * MS, "fall": at + (IDLE if lost else self.width)}
        else:
            del self.due[timer]
        for line in self.motors:
            out.append(f"e {at} {line} {int(timer == 'period')}")

    def run(self, until, out):
        while self.due and min(self.due.values()) <= until:
            timer = min(self.due, key=self.due.get)
            self.fire(timer, self.due[timer], out)


now, drive, capture, board, out = 0, [], [], None, []
for text in sys.stdin:
    word, *rest = text.split()
    if word == "drive":
        drive = rest
    elif word == "capture":
        capture = rest
    elif word == "e":
        at, line, level = map(int, rest)
        board.run(at, out)
        board.edge(at, line, level)
    elif word == "to":
        now = int(rest[0])
        board.run(now, out)
        print("\n".join([*out, f"at {now}"]), flush=True)
        out.clear()
    elif word == "end":
        break
    if word in ("capture", "restart"):
        board = Board(drive, capture, now)
        print("ready passes the throttle on", flush=True)
