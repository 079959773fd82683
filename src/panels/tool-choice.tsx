import { useApp } from './app-context.ts';

interface ToolChoiceProps<Tool extends string> {
  readonly label: string;
  readonly tools: readonly { readonly tool: Tool; readonly word: string; readonly key?: string }[];
  readonly chosen: Tool;
  readonly onChoose: (tool: Tool) => void;
}

/** Which tool is at hand: words in a row on a sheet, a list in one hand. */
export function ToolChoice<Tool extends string>({ label, tools, chosen, onChoose }: ToolChoiceProps<Tool>) {
  const { store } = useApp();
  if (store.compact.value) {
    return (
      <select class="tool-choice" aria-label={label} value={chosen} onChange={(event) => onChoose(event.currentTarget.value as Tool)}>
        {tools.map(({ tool, word }) => <option key={tool} value={tool}>{word}</option>)}
      </select>
    );
  }
  return (
    <div class="choices" role="group" aria-label={label}>
      {tools.map(({ tool, word, key }) => (
        <button key={tool} type="button" aria-pressed={tool === chosen} onClick={() => onChoose(tool)}>{word}{key && <kbd>{key}</kbd>}</button>
      ))}
    </div>
  );
}
