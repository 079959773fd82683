import type { ComponentChildren } from 'preact';
import { useLayoutEffect, useRef } from 'preact/hooks';

/** What a tool under way says and asks. Whoever typed in it goes on in the drawing when it is put away. */
export function ToolSheet({ children, onSubmit }: { readonly children: ComponentChildren; readonly onSubmit?: () => void }) {
  const sheet = useRef<HTMLFormElement & HTMLDivElement>(null);
  useLayoutEffect(() => {
    const element = sheet.current!;
    return () => {
      if (element.contains(document.activeElement)) document.querySelector<HTMLElement>('.board')?.focus({ preventScroll: true });
    };
  }, []);
  if (!onSubmit) return <div ref={sheet} class="measure-tools">{children}</div>;
  return (
    <form
      ref={sheet}
      class="measure-tools"
      onSubmit={(event) => {
        event.preventDefault();
        onSubmit();
      }}
    >
      {children}
    </form>
  );
}
