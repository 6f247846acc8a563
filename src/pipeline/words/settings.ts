/** What the hand-over leaf says. */
import type { Settings } from "../settings";
import type { Finding } from "./finding";
import { counted } from "./quantity";

export function settingsFinding(settings: Settings, notConfirmed: number): Finding {
  const missing = [settings.smoothing ? null : "smoothing", settings.warning ? null : "the warning"].filter(Boolean);
  return {
    question: "What do you type in, and how do you show the customer?",
    sentence: [
      counted(null, settings.lines.length, 0, "numbers"),
      " to type, one a line on the card",
      missing.length
        ? `; ${missing.join(" and ")} still ${missing.length > 1 ? "wait" : "waits"} for a drive log.`
        : ".",
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
