/** Keeps the screen on while somebody works beside it, where the browser can; says where it cannot. */
import { type Accessor, createSignal, onCleanup } from "solid-js";

interface Lock {
  release(): Promise<void>;
  addEventListener(kind: "release", listener: () => void): void;
}
interface Locks {
  request(kind: "screen"): Promise<Lock>;
}

/** `off`: not asked for; `refused`: asked for, and the browser said no (a low battery, or a page that is not safe). */
export type Awake = "off" | "on" | "refused" | "cannot";

/** So long after the last sign of work the screen may go dark again: longer than a pour with its wait (named default, no source). */
const patience_ms = 20 * 60_000;

/**
 * Created inside a component: lets go when that is gone.
 * @returns `work` is called at each sign of work; `rest` lets the screen go dark at once.
 */
export function createAwake(): { awake: Accessor<Awake>; work: () => void; rest: () => void } {
  const locks = (navigator as { wakeLock?: Locks }).wakeLock;
  const [awake, setAwake] = createSignal<Awake>(locks ? "off" : "cannot");
  let lock: Lock | null = null;
  let asking = false;
  let wanted = false;
  let timer: ReturnType<typeof setTimeout> | undefined;
  const ask = async () => {
    if (!locks || lock || asking || document.visibilityState !== "visible") return;
    asking = true;
    try {
      const got = await locks.request("screen");
      if (!wanted) return void got.release().catch(() => undefined);
      lock = got;
      setAwake("on");
      // The browser lets go by itself when the page is hidden: it is asked again when the page comes back.
      got.addEventListener("release", () => {
        if (lock === got) lock = null;
        if (awake() === "on") setAwake("off");
      });
    } catch {
      setAwake("refused");
    } finally {
      asking = false;
    }
  };
  const rest = () => {
    wanted = false;
    clearTimeout(timer);
    const held = lock;
    lock = null;
    if (locks) setAwake("off");
    void held?.release().catch(() => undefined);
  };
  const work = () => {
    if (!locks) return;
    wanted = true;
    clearTimeout(timer);
    timer = setTimeout(rest, patience_ms);
    void ask();
  };
  const back = () => {
    if (wanted) void ask();
  };
  document.addEventListener("visibilitychange", back);
  onCleanup(() => {
    document.removeEventListener("visibilitychange", back);
    rest();
  });
  return { awake, work, rest };
}
