"""The reference of grid.ts: digit changes and reversals of every (time constant, deadband) pair, in NumPy.

Straightforward and not slow on purpose: all pairs step through the record together, and what needs no memory of the sample before is done for
a whole chunk of samples at once. Reads a job as JSON from standard input, float64 readings from the file it names; prints JSON.
"""

import json
import sys
import time

import numpy as np

job = json.load(sys.stdin)
readings = np.fromfile(job["readings"], dtype=np.float64)
taus = np.array(job["timeConstants_s"])
bands = np.array(job["deadbands_L"])
table = np.array(job["table"])
step, offset, interval = job["step_L"], job["offset_L"], job["interval_s"]

from_s = time.process_time()
factor = 1 - np.exp(-interval / taus)
count = len(readings)
chunk = 2048
level = np.full(len(taus), readings[0])
held = None
last_digit = None
direction = np.zeros((len(taus), len(bands)), dtype=np.int8)
changes = np.zeros((len(taus), len(bands)), dtype=np.int64)
reversals = np.zeros_like(changes)
filtered = np.empty((chunk, len(taus)))
steps = np.empty((chunk, len(taus), len(bands)))
for start in range(0, count, chunk):
    size = min(chunk, count - start)
    # The low-pass remembers, so it goes sample by sample, all time constants together.
    for i in range(size):
        level += factor * (readings[start + i] - level)
        filtered[i] = level
    litres = np.interp(filtered[:size], table[:, 0], table[:, 1])
    if held is None:
        held = np.repeat(litres[0][:, None], len(bands), axis=1)
    lower = litres[:, :, None] - bands
    upper = litres[:, :, None] + bands
    # So does the deadband: dragged from below and from above.
    for i in range(size):
        np.maximum(held, lower[i], out=held)
        np.minimum(held, upper[i], out=held)
        steps[i] = held
    digit = np.floor((steps[:size] - offset) / step + 0.5)
    moved = np.diff(digit, axis=0, prepend=digit[:1] if last_digit is None else last_digit[None])
    last_digit = digit[-1].copy()
    changes += np.count_nonzero(moved, axis=0)
    # A reversal: the sign of a change is not that of the change before it, pair by pair.
    sign = np.sign(moved).astype(np.int8)
    for t in range(len(taus)):
        for b in range(len(bands)):
            turns = sign[:, t, b]
            turns = turns[turns != 0]
            if len(turns) == 0:
                continue
            before = direction[t, b]
            reversals[t, b] += np.count_nonzero(np.diff(turns)) + (before != 0 and turns[0] != before)
            direction[t, b] = turns[-1]
print(
    json.dumps(
        {
            "cpu_s": time.process_time() - from_s,
            "numpy": np.__version__,
            "changes": changes.ravel().tolist(),
            "reversals": reversals.ravel().tolist(),
        }
    )
)
