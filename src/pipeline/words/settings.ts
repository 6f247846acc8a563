/** What the hand-over leaf says. */
import type { Settings } from "../settings";
import type { Finding } from "./finding";
import { counted } from "./quantity";

export function settingsFinding(settings: Settings, notConfirmed: number): Finding {
  // A warning needs no drive log: where it is missing its own leaf says what for.
  const missing = [
    settings.smoothing ? null : "smoothing still waits for a drive log that can be read",
    settings.warning ? null : "the warning still waits for what the low-fuel leaf asks for",
  ].filter(Boolean);
  return {
    question: "What do you type in, and how do you show the customer?",
    sentence: [
      counted(null, settings.lines.length, 0, "numbers"),
      " to type, one a line on the card",
      missing.length ? `; ${missing.join(", and ")}.` : ".",
      notConfirmed > 0 ? " " : "",
      ...(notConfirmed > 0
        ? [
            counted("decisionsNotConfirmed", notConfirmed, 0, notConfirmed === 1 ? "decision" : "decisions"),
            ` ${notConfirmed === 1 ? "is" : "are"} not confirmed: card and report say so on every sheet.`,
          ]
        : []),
    ],
    short: [`${settings.lines.length} numbers`],
    condition: ["In the device’s own units, range and digits. Every promise above is made for these very numbers."],
    caution: null,
  };
}
