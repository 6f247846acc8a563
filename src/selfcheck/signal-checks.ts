/** Divider, preferred values, low-pass, level crossings and tank modes against closed forms and published values. */
import { crossingsAt, marginFor } from "../math/crossings";
import { dividerBend, dividerBendAt, dividerSpan, senderHeat, widestPullUp } from "../math/divider";
import { cutoffOf, lowPass, smoothingFactor, whiteNoiseAfter } from "../math/filter";
import { E24, E96 } from "../math/preferred-values";
import { bandVariance, welch } from "../math/spectrum";
import { tankMode_Hz } from "../math/tank-mode";
import { e24, e96 } from "./data";
import type { Check, Pair } from "./index";

export const circuitChecks: Check[] = [
  {
    id: "divider",
    title: "divider: span, bend, best pull-up, heat",
    source: "Ohm's law; closed forms derived and confirmed by numerical maximisation",
    run: () =>
      (
        [
          [
            33, 240, 240, 0.3791208791208791, 0.140149999072845, 121.99447509596052, 88.99438184514796,
            0.0010416666666666667,
          ],
          [0, 300, 240, 0.5555555555555556, 0.2, 120, 0, 0.0010416666666666667],
          [10, 180, 100, 0.551948051948052, 0.22942014414303014, 75.49928774784243, 42.42640687119285, 0.0025],
        ] as const
      ).flatMap(([low, high, pull, span, bend, at, widest, heat]): Pair[] => [
        { name: `span ${low}-${high} Ω`, value: dividerSpan(low, high, pull, 1), expected: span, within: 1e-9 },
        { name: `bend ${low}-${high} Ω`, value: dividerBend(low, high, pull), expected: bend, within: 1e-9 },
        { name: `where ${low}-${high} Ω`, value: dividerBendAt(low, high, pull), expected: at, within: 1e-9 },
        { name: `widest ${low}-${high} Ω`, value: widestPullUp(low, high), expected: widest, within: 1e-9 },
        { name: `heat ${low}-${high} Ω`, value: senderHeat(low, high, pull, 1), expected: heat, within: 1e-9 },
      ]),
  },
  {
    id: "preferred-values",
    title: "preferred values E24 and E96",
    source: "IEC 60063:2015",
    run: () => [
      ...e24.map((expected, i): Pair => ({ name: `E24 ${i}`, value: E24[i]!, expected, within: 1e-12 })),
      ...e96.map((expected, i): Pair => ({ name: `E96 ${i}`, value: 100 * E96[i]!, expected, within: 1e-12 })),
    ],
  },
];

export const signalChecks: Check[] = [
  {
    id: "low-pass",
    title: "first-order low-pass: factor, cut-off, lag on a ramp",
    source: "closed forms (Oppenheim and Schafer, from memory): α = 1 − exp(−Δt/τ)",
    run: () =>
      (
        [
          [0.1, 6, 0.016528546178382397, 0.026525823848649224, 59.5013888824593, 0.008333140437456924],
          [0.02, 6, 0.0033277839454766145, 0.026525823848649224, 299.5002777777321, 0.0016666651234584727],
          [0.1, 1, 0.09516258196404048, 0.15915494309189535, 9.508331944775044, 0.049958374957880004],
          [1, 30, 0.0327838995179941, 0.005305164769729845, 29.50277772633881, 0.01666512362823861],
        ] as const
      ).flatMap(([dt, tau, alpha, cutoff, lag, white]): Pair[] => {
        const n = Math.round((40 * tau) / dt);
        const ramp = lowPass(
          Float64Array.from({ length: n }, (_, i) => i),
          smoothingFactor(tau, dt),
        );
        return [
          { name: `factor ${tau} s`, value: smoothingFactor(tau, dt), expected: alpha, within: 1e-12 },
          { name: `cut-off ${tau} s`, value: cutoffOf(tau), expected: cutoff, within: 1e-12 },
          {
            name: `white noise left, ${tau} s`,
            value: whiteNoiseAfter(smoothingFactor(tau, dt)) ** 2,
            expected: white,
            within: 1e-12,
          },
          { name: `lag ${tau} s`, value: n - 1 - ramp[n - 1]!, expected: lag, within: 1e-9 },
        ];
      }),
  },
  {
    id: "rice",
    title: "level-crossing rate of Gaussian noise and the margin for one flicker",
    source: "Rice, Bell System Technical Journal 23-24 (1944-45)",
    run: () => {
      const flat = Math.sqrt((1.5 ** 3 - 0.5 ** 3) / 3);
      return [
        {
          name: "rate at 2σ, 0.5 to 1.5 Hz",
          value: crossingsAt(2, 1, flat),
          expected: 0.14086142882088776,
          within: 1e-9,
        },
        ...(
          [
            [5.773502691896257, 4.459140740793947],
            [1.0408329997330665, 4.056774698767722],
            [0.49956273857859684, 3.8716061365855023],
          ] as const
        ).map(
          ([f0, expected]): Pair => ({
            name: `margin, ${f0.toFixed(3)} Hz, one an hour`,
            value: marginFor(1, f0, 1 / 3600, 0.5),
            expected,
            within: 1e-9,
          }),
        ),
        {
          name: "margin, 0.9 Hz, one an hour",
          value: marginFor(1, 0.9, 1 / 3600, 0.5),
          expected: 4.0207781855721345,
          within: 1e-9,
        },
        {
          name: "margin, 0.9 Hz, ten minutes",
          value: marginFor(1, 0.9, 1 / 600, 0.5),
          expected: 3.5472719488526163,
          within: 1e-9,
        },
      ];
    },
  },
  {
    id: "tank-modes",
    title: "natural frequencies of a rectangular tank, 0.8 m by 0.3 m",
    source: "code_aster validation manual, V8.21.101 (sloshing modes of a box-shaped reservoir)",
    run: () =>
      [0.89825, 1.38452, 1.70952, 1.97551, 2.20885].map(
        (expected, i): Pair => ({
          name: `mode ${i + 1}`,
          value: tankMode_Hz(0.8, 0.3, i + 1, 9.81),
          expected,
          within: 1e-5,
        }),
      ),
  },
  {
    id: "welch",
    title: "Welch spectrum of a known signal",
    source: "Welch (1967); computed with scipy.signal.welch 1.10.1",
    run: () => {
      // Two sines and even noise from a Lehmer generator, rounded to six decimals.
      let state = 123456789;
      const signal = Float64Array.from({ length: 2048 }, (_, i) => {
        const t = i / 50;
        const noise = 0.02 * (state / 2147483647 - 0.5);
        state = Number((BigInt(state) * 16807n) % 2147483647n);
        return (
          Math.round(
            (2.5 + 0.05 * Math.sin(2 * Math.PI * 0.9 * t + 0.3) + 0.01 * Math.sin(12 * Math.PI * t) + noise) * 1e6,
          ) / 1e6
        );
      });
      const spectrum = welch(signal, 50, 256);
      return [
        ...(
          [
            [0, 2.11103240824e-5],
            [4, 0.00261724123815],
            [5, 0.00348648323819],
            [30, 8.06478599901e-5],
            [31, 0.00014213831151],
          ] as const
        ).map(([k, expected]): Pair => ({ name: `bin ${k}`, value: spectrum.density[k]!, expected, within: 1e-9 })),
        { name: "whole variance", value: bandVariance(spectrum, 0, 26), expected: 0.00133082666, within: 1e-8 },
      ];
    },
  },
];
