/** Shows how far work has come on standard error: one line that is overwritten on a terminal, nothing elsewhere. */
export function progressLine(): { show(stage: string, fraction: number): void; end(): void } {
  const terminal = process.stderr.isTTY;
  let lastStage = '';
  let lastPercent = -1;
  return {
    show(stage, fraction) {
      const percent = Math.floor(fraction * 100);
      if (terminal) {
        if (stage === lastStage && percent === lastPercent) return;
        process.stderr.write(`\r\u001b[K${stage} ${percent} %`);
      } else if (stage !== lastStage) {
        process.stderr.write(`${stage}\n`);
      }
      lastStage = stage;
      lastPercent = percent;
    },
    end() {
      if (terminal) process.stderr.write('\r\u001b[K');
    },
  };
}
