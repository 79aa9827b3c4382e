"""Keeps the busier hand in the middle from a fixed side, without turning more than it must.

    dryrig take booklet --policy python:nearest_hand.py:BusyHand --out out/mine
"""
import numpy as np

import dryrig

LEFT_PALM, RIGHT_PALM = 20 + 9, 41 + 9  # rows of `points`: joints 0-19, then 21 landmarks of each hand


class BusyHand:
    """looks at the hand that moves more, from across the bench"""

    PARAMS = {  # name: (value, lo, hi, unit, meaning)
        "distance_m": (0.7, 0.3, 2.0, "m", "from the hand to the camera"),
        "settle_s": (1.2, 0.1, 10.0, "s", "time constant of its way"),
    }

    def __init__(self, distance_m=0.7, settle_s=1.2):
        self.distance_m, self.settle_s = distance_m, settle_s

    def back_to_one(self, stage, seed):
        height = stage["bench_m"][2]
        self.hands = np.array([[-0.15, 0.25, height], [0.15, 0.25, height]])
        self.speeds = np.zeros(2)
        self.at = self.hands.mean(axis=0)
        self.last_s = 0.0

    def decide(self, seen):
        now = float(seen["time"][0])
        step_s, self.last_s = now - self.last_s, now
        hands = seen["points"][[LEFT_PALM, RIGHT_PALM]]
        if seen["points_seen"][[LEFT_PALM, RIGHT_PALM]].all() and step_s > 0:
            moved = np.linalg.norm(hands - self.hands, axis=1) / step_s
            self.speeds += (1 - np.exp(-step_s / 2.0)) * (moved - self.speeds)
            self.hands = hands
        share = self.speeds / max(self.speeds.sum(), 1e-6)
        wish = share @ self.hands if self.speeds.sum() > 1e-6 else self.hands.mean(axis=0)
        self.at = self.at + (1 - np.exp(-step_s / self.settle_s)) * (wish - self.at)
        camera = dryrig.look_at(self.at + self.distance_m * np.array([0.0, 0.7071, 0.7071]), self.at)
        return dryrig.Move(camera=camera, focus_m=self.distance_m, subjects=["hands"], size="close-up", angle="high-angle")
