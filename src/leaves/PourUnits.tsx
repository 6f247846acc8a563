/** How the rows of a typed run are written: added or counted up, and in which units. */
import type { JSX } from "solid-js";
import type { Sheet } from "../notebook/typed-sheet";
import { SelectField } from "../ui/fields";
import type { GridWords, SheetUnit } from "./typed-cells";

export function PourUnits(props: {
  sheet: Sheet;
  words: GridWords;
  put: (next: Sheet, label: string) => void;
  measureIn: (unit: SheetUnit) => void;
}): JSX.Element {
  return (
    <div class="columns">
      <SelectField
        label="Volumes are"
        value={props.sheet.enteredAs}
        options={[
          { value: "added", label: props.words.volumesAre.added },
          { value: "cumulative", label: props.words.volumesAre.cumulative },
        ]}
        onChange={(enteredAs) => props.put({ ...props.sheet, enteredAs }, "read the volumes the other way")}
      />
      <SelectField
        label="in"
        value={props.sheet.volumeUnit}
        options={[
          { value: "L", label: "litres" },
          { value: "USgal", label: "US gallons" },
          { value: "impgal", label: "imperial gallons" },
          { value: "kg", label: "kilograms" },
        ]}
        onChange={(unit) => props.measureIn(unit as SheetUnit)}
      />
      <SelectField
        label="Readings are in"
        value={props.sheet.readingUnit}
        options={[
          { value: "V", label: "volts" },
          { value: "ohm", label: "ohms" },
          { value: "count", label: "counts" },
        ]}
        onChange={(readingUnit) => props.put({ ...props.sheet, readingUnit }, "change the unit of the readings")}
      />
    </div>
  );
}
