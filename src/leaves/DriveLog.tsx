import { createMemo, Index, type JSX, Show } from "solid-js";
import { useNotebook } from "../notebook/open-notebook";
import { driveLogFigure } from "../pipeline/figures/drive-log";
import { isFound, withReading } from "../pipeline/words/all";
import { driveLogFinding, driveLogWorking } from "../pipeline/words/drive-log";
import { Plot } from "../ui/Plot";
import { DataIn } from "./DataIn";
import { DriveParts } from "./DriveParts";
import { Leaf } from "./Leaf";

export function DriveLogLeaf(props: { number: number }): JSX.Element {
  const book = useNotebook();
  const answer = createMemo(() => withReading(book.answers.driveLog(), book.answers.drives()));
  const found = () => isFound(book.answers.curve());
  return (
    <Leaf
      number={props.number}
      name="drive-log"
      title="drive log"
      question="How does the volume move on the road?"
      stage="driveLog"
      answer={answer()}
      finding={(logs) => driveLogFinding(logs, found())}
      working={(logs) => driveLogWorking(logs, found())}
      blocks={["driveLogs"]}
      always={
        <>
          <DataIn kinds={["drive"]} />
          <DriveParts />
        </>
      }
    >
      {(logs) => (
        <Index each={logs()}>
          {(log) => <Show when={driveLogFigure(log(), book.volume(), found())}>{(f) => <Plot figure={f()} />}</Show>}
        </Index>
      )}
    </Leaf>
  );
}
