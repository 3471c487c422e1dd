/** Progress for people: one line that redraws itself on a terminal, sparse lines in a log. */
export function createProgressLine(stream: NodeJS.WriteStream, quiet: boolean) {
  let drawn = false;
  let lastStage = '';

  function clear(): void {
    if (drawn) stream.write('\r\x1b[2K');
    drawn = false;
  }

  return {
    update(done: number, stage: string): void {
      if (quiet) return;
      if (stream.isTTY) {
        stream.write(`\r\x1b[2K${stage} ${Math.round(done * 100)} %`);
        drawn = true;
      } else if (stage !== lastStage) {
        stream.write(`${stage}\n`);
      }
      lastStage = stage;
    },
    note(text: string): void {
      if (quiet) return;
      clear();
      stream.write(`${text}\n`);
    },
    end: clear,
  };
}
