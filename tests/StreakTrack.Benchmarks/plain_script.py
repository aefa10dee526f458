"""What a plain script does with a clip: threshold, largest blob, ends to millimetres, decay fit. The yardstick for speed and accuracy.

Usage: plain_script.py CLIP MARKS.csv      Prints tau in s and its standard uncertainty. Needs OpenCV and SciPy.
"""
import csv
import sys

import cv2
import numpy as np
from scipy.optimize import curve_fit

clip, marks_path = sys.argv[1:3]
with open(marks_path, newline="") as file:
    marks = np.array([[float(row[k]) for k in ("u_px", "v_px", "reading_mm")] for row in csv.DictReader(file)])
to_mm = np.polyfit(marks[:, 0], marks[:, 2], min(2, len(marks) - 1))

# Only the stretch around the marks is looked at, as anybody would crop.
middle, reach = int(marks[:, 1].mean()), None
video = cv2.VideoCapture(clip)
times, amplitudes = [], []
kernel = cv2.getStructuringElement(cv2.MORPH_RECT, (31, 3))   # a streak is dim between its ends; ticks cut it
while True:
    read, frame = video.read()
    if not read:
        break
    if reach is None:
        reach = frame.shape[0] // 8
    band = frame[max(0, middle - reach):middle + reach]
    blue, green, red = cv2.split(band)
    light = cv2.subtract(red, cv2.max(green, blue))
    light = cv2.GaussianBlur(light, (5, 5), 0)
    _, mask = cv2.threshold(light, 0.15 * float(light.max()), 255, cv2.THRESH_BINARY)
    mask = cv2.morphologyEx(mask, cv2.MORPH_CLOSE, kernel)
    count, _, stats, _ = cv2.connectedComponentsWithStats(mask)
    if count < 2:
        continue
    largest = 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))
    left, width = stats[largest, cv2.CC_STAT_LEFT], stats[largest, cv2.CC_STAT_WIDTH]
    ends = np.polyval(to_mm, [left - 0.5, left + width - 0.5])
    time = video.get(cv2.CAP_PROP_POS_MSEC) / 1000
    if times and time <= times[-1]:
        continue   # some versions of OpenCV give the last frame the time 0
    times.append(time)
    amplitudes.append(abs(ends[1] - ends[0]) / 2)

times, amplitudes = np.array(times), np.array(amplitudes)


def envelope(t, steady, switch, tau, floor):
    return np.where(t < switch, steady, floor + (steady - floor) * np.exp(-(t - switch) / tau))


steady = float(np.median(amplitudes[: len(amplitudes) // 5]))
last_steady = np.flatnonzero(amplitudes > 0.95 * steady)[-1]
span = times[-1] - times[0]
start = (steady, times[last_steady], span / 4, amplitudes.min())
bounds = ([0, times[0], span / 1000, -np.inf], [np.inf, times[-1], 100 * span, np.inf])
values, covariance = curve_fit(envelope, times, amplitudes, p0=start, bounds=bounds, max_nfev=5000)
print(f"{values[2]:.5f} {np.sqrt(covariance[2, 2]):.5f}")
