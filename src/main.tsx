/** Door 1: the page. */
import "@fontsource-variable/vollkorn/wght.css";
import "@fontsource-variable/vollkorn/wght-italic.css";
import "@fontsource-variable/overpass/wght.css";
import { render } from "solid-js/web";
import { figureCss, tokensCss } from "./figure/theme";
import { loadExample } from "./leaves/examples";
import { keepFocus } from "./leaves/keep-focus";
import { followPlace } from "./leaves/keep-place";
import { Sheet } from "./leaves/Sheet";
import { createOpenNotebook, NotebookProvider } from "./notebook/open-notebook";
import "./ui/style/index.css";

const style = document.createElement("style");
style.textContent = tokensCss + figureCss;
document.head.prepend(style);

const windows = new BroadcastChannel("fillbook-saved");
const book = createOpenNotebook(new Worker(new URL("./worker.ts", import.meta.url), { type: "module" }), () =>
  windows.postMessage(null),
);
windows.onmessage = book.otherSaved;
const place = document.getElementById("page");
if (!place) throw new Error("main: the page has no place to stand");
render(
  () => (
    <NotebookProvider value={book}>
      <Sheet />
    </NotebookProvider>
  ),
  place,
);

const example = new URLSearchParams(location.search).get("example");
/** An address that names an example opens it once, over what was open last (undo brings that back): loaded again, the page goes on with it. */
const openExample = async (name: string): Promise<false> => {
  try {
    await book.restore({ answer: false });
    await loadExample(book, name);
    await book.saveNow();
    if (book.saved().state === "saved") history.replaceState(null, "", location.pathname + location.hash);
  } catch (error) {
    book.fail(String(error));
  }
  return false;
};
keepFocus();
followPlace(book, example ? openExample(example) : book.restore());

/** Undo and redo by key, except where a field has its own. */
document.addEventListener("keydown", (event) => {
  const field = event.target instanceof HTMLElement && /^(INPUT|TEXTAREA|SELECT)$/.test(event.target.tagName);
  if (field || !(event.ctrlKey || event.metaKey) || event.altKey) return;
  const key = event.key.toLowerCase();
  if (key === "z" && !event.shiftKey) book.undo();
  else if (key === "y" || (key === "z" && event.shiftKey)) book.redo();
  else return;
  event.preventDefault();
});
