/** Columns of a drive log made by hand, as the device reads them. */
import type { DriveLog } from "../../src/pipeline/drive-log";

export const columnsOf = (time_s: number[], reading: number[]) =>
  ({
    columns: {
      time_s: Float64Array.from(time_s),
      reading: Float64Array.from(reading),
      trend_L: Float64Array.from(time_s, () => 30),
    },
  }) as Pick<DriveLog, "columns">;
