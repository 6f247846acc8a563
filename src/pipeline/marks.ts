/** Bit flags of a log's rows (`columns.mark`). A marked sample stays in the record. */
export const MARK = { spike: 1, dropout: 2, held: 4, atEnd: 8, blank: 16, notYetAnswered: 32 } as const;
