import { expect, test } from "vitest";
import { valueIn } from "../../src/answer";
import { boxOf } from "../../src/figure/labels";
import { drawFigure } from "../../src/figure/svg";
import { rowsFigure } from "../../src/pipeline/figures/table";
import { complaintNames, exampleNames, runExample } from "../pipeline/example-run";

test.each([...exampleNames, ...complaintNames])(
  "the word at the recommended number of rows lies on no line, %s",
  (name) => {
    const table = valueIn(runExample(name).answers.table);
    if (!table) return expect(name).toMatch(/reed-punt|heath-dasher/);
    const figure = rowsFigure(table);
    for (const width of [640, 350]) {
      const svg = drawFigure(figure, { width });
      const word = /<text class="lab strong yours" x="([\d.]+)" y="([\d.]+)" text-anchor="(\w+)">recommended</.exec(
        svg,
      )!;
      const box = boxOf({ x: Number(word[1]), y: Number(word[2]), anchor: word[3] as "start" }, "recommended");
      const path = /<path class="curve" d="([^"]+)"/.exec(svg)![1]!;
      const points = [...path.matchAll(/[ML]([\d.]+),([\d.]+)/g)].map((m) => [Number(m[1]), Number(m[2])] as const);
      const on = points.slice(1).flatMap(([x2, y2], i) => {
        const [x1, y1] = points[i]!;
        return Array.from({ length: 50 }, (_, k) => [x1 + ((x2 - x1) * k) / 50, y1 + ((y2 - y1) * k) / 50] as const);
      });
      const covered = on.filter(([x, y]) => x > box.left && x < box.right && y > box.top && y < box.bottom);
      expect(covered, `${width} pixels`).toEqual([]);
    }
  },
);
