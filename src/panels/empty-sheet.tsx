import { useApp } from './app-context.ts';
import { FileChooser } from './file-chooser.tsx';

const ACCEPTED: readonly (readonly [string, string])[] = [
  ['points', 'LAS, LAZ, COPC, PLY, text'],
  ['mesh', 'PLY, OBJ with its MTL and pictures, glTF'],
  ['heights', 'GeoTIFF'],
  ['record', 'a record saved here before'],
];

/** Nothing measured yet: what to drop, and a sample. */
export function EmptySheet() {
  const { actions } = useApp();
  return (
    <div class="empty">
      <h1>Put a roof on this sheet.</h1>
      <p>Drop its files anywhere here. They stay on this machine.</p>
      <div class="deeds">
        <FileChooser leading />
        <button type="button" class="deed" onClick={() => void actions.openSample()}>Open the sample site</button>
      </div>
      <dl>{ACCEPTED.map(([name, formats]) => <div key={name}><dt>{name}</dt><dd>{formats}</dd></div>)}</dl>
    </div>
  );
}
