/** Numbers under each other stand on their decimal mark: what a shorter one lacks is kept free, not invented. */
import type { JSX } from "solid-js";

const parts = /^([^\d]*\d+)(?:\.(\d+))?(.*)$/s;

/** Decimals of the first number in a text; 0 if it has none. */
export const decimalsIn = (text: string): number => parts.exec(text)?.[2]?.length ?? 0;

/** @param props.most decimals of the longest number in the column. */
export function Aligned(props: { text: string; most: number }): JSX.Element {
  const found = () => parts.exec(props.text);
  const lacks = () => props.most - decimalsIn(props.text);
  return (
    <>
      {found() ? `${found()![1]}${found()![2] ? `.${found()![2]}` : ""}` : props.text}
      {found() && lacks() > 0 ? (
        <span class="kept-free" aria-hidden="true">
          {`${decimalsIn(props.text) === 0 ? "." : ""}${"0".repeat(lacks())}`}
        </span>
      ) : (
        ""
      )}
      {found()?.[3] ?? ""}
    </>
  );
}
