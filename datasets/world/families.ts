/** Families of jobs: which tank, sender and drive go together. Fixed before any stage was tuned against them. */
import type { DriveStyle } from "./drive";
import type { SenderTruth } from "./sender";
import type { TankShape } from "./tank";

export interface Family {
  name: string;
  shape: TankShape;
  sender: SenderTruth["kind"];
  style: DriveStyle;
}

const family = (shape: TankShape, sender: SenderTruth["kind"], style: DriveStyle): Family => ({
  name: `${shape} ${sender === "float-arm" ? "arm" : sender === "reed-ladder" ? "reed" : "tube"} ${style}`,
  shape,
  sender,
  style,
});

export const families: Family[] = [
  family("stepped", "float-arm", "road"),
  family("saddle", "float-arm", "rough"),
  family("wedge", "float-arm", "circuit"),
  family("cylinder", "float-arm", "road"),
  family("lobes", "float-arm", "road"),
  family("keel", "reed-ladder", "rough"),
  family("stepped", "reed-ladder", "road"),
  family("wedge", "reed-ladder", "circuit"),
  family("saddle", "capacitive", "road"),
  family("keel", "capacitive", "rough"),
  family("stepped", "capacitive", "circuit"),
];
