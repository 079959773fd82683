/** What a person does on the drawing, free of devices: mouse, finger and keys end up here. */
export interface BoardIntents {
  /** The pointer rests or moves; `free` while the key is held that lets nothing be snapped to. */
  hover(x: number, y: number, free: boolean): void;
  leave(): void;
  /** A click or tap that was no drag. */
  tap(x: number, y: number, free: boolean, byFinger: boolean): void;
  doubleTap(x: number, y: number): void;
  /** Turn where a view can turn, else move the paper. */
  drag(dx: number, dy: number): void;
  /** Always moves the paper. */
  slide(dx: number, dy: number): void;
  zoom(factor: number, x: number, y: number): void;
  rest(): void;
  key(event: KeyboardEvent): void;
}

/** A movement smaller than this is a click. [px] */
const DRAG_STARTS = 4;
const WHEEL_STEP = 0.0016;

/** Listens on an element and tells what was meant. @returns Stops listening. */
export function listen(element: HTMLElement, intents: BoardIntents): () => void {
  const pointers = new Map<number, { x: number; y: number }>();
  let start: { x: number; y: number; dragging: boolean; slide: boolean } | null = null;
  let pinched = false;
  const local = (event: MouseEvent): [number, number] => {
    const box = element.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  };

  const onDown = (event: PointerEvent): void => {
    element.setPointerCapture(event.pointerId);
    const [x, y] = local(event);
    pointers.set(event.pointerId, { x, y });
    if (pointers.size === 1) start = { x, y, dragging: false, slide: event.button !== 0 || event.ctrlKey || event.metaKey };
    else pinched = true;
  };

  const onMove = (event: PointerEvent): void => {
    const [x, y] = local(event);
    const last = pointers.get(event.pointerId);
    if (!last) {
      if (event.pointerType !== 'touch') intents.hover(x, y, event.shiftKey);
      return;
    }
    if (pointers.size === 2) return pinch(event.pointerId, x, y);
    pointers.set(event.pointerId, { x, y });
    if (!start || pinched) return;
    if (!start.dragging && Math.hypot(x - start.x, y - start.y) < DRAG_STARTS) return;
    start.dragging = true;
    if (start.slide) intents.slide(x - last.x, y - last.y);
    else intents.drag(x - last.x, y - last.y);
  };

  const pinch = (id: number, x: number, y: number): void => {
    const [other] = [...pointers].filter(([key]) => key !== id).map(([, place]) => place);
    const last = pointers.get(id)!;
    const before = Math.hypot(last.x - other!.x, last.y - other!.y);
    const after = Math.hypot(x - other!.x, y - other!.y);
    intents.slide((x - last.x) / 2, (y - last.y) / 2);
    if (before > 8 && after > 8) intents.zoom(after / before, (x + other!.x) / 2, (y + other!.y) / 2);
    pointers.set(id, { x, y });
  };

  const onUp = (event: PointerEvent): void => {
    const [x, y] = local(event);
    const wasTap = start !== null && !start.dragging && !pinched && event.type === 'pointerup' && event.button === 0;
    pointers.delete(event.pointerId);
    if (pointers.size === 0) {
      if (wasTap) intents.tap(x, y, event.shiftKey, event.pointerType === 'touch');
      start = null;
      pinched = false;
      intents.rest();
    }
  };

  const onWheel = (event: WheelEvent): void => {
    event.preventDefault();
    const lines = event.deltaMode === WheelEvent.DOM_DELTA_LINE ? 16 : 1;
    intents.zoom(Math.exp(-event.deltaY * lines * WHEEL_STEP), ...local(event));
  };
  // A finger that is lifted leaves too, but what it showed must stand for its second tap.
  const onLeave = (event: PointerEvent): void => {
    if (event.pointerType !== 'touch') intents.leave();
  };
  const onDouble = (event: MouseEvent): void => intents.doubleTap(...local(event));
  const onKey = (event: KeyboardEvent): void => intents.key(event);
  const noMenu = (event: Event): void => event.preventDefault();

  element.addEventListener('pointerdown', onDown);
  element.addEventListener('pointermove', onMove);
  element.addEventListener('pointerup', onUp);
  element.addEventListener('pointercancel', onUp);
  element.addEventListener('pointerleave', onLeave);
  element.addEventListener('wheel', onWheel, { passive: false });
  element.addEventListener('dblclick', onDouble);
  element.addEventListener('keydown', onKey);
  element.addEventListener('contextmenu', noMenu);
  return () => {
    element.removeEventListener('pointerdown', onDown);
    element.removeEventListener('pointermove', onMove);
    element.removeEventListener('pointerup', onUp);
    element.removeEventListener('pointercancel', onUp);
    element.removeEventListener('pointerleave', onLeave);
    element.removeEventListener('wheel', onWheel);
    element.removeEventListener('dblclick', onDouble);
    element.removeEventListener('keydown', onKey);
    element.removeEventListener('contextmenu', noMenu);
  };
}
