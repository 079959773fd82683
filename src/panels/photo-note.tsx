import { useRef } from 'preact/hooks';
import { useApp } from './app-context.ts';

/** The picture of a small feature: from a file or a phone's camera, kept in the record, sent nowhere. */
export function PhotoNote({ feature, name }: { readonly feature: string; readonly name: string }) {
  const { store, actions } = useApp();
  const input = useRef<HTMLInputElement>(null);
  const whole = useRef<HTMLDialogElement>(null);
  const photo = store.record.value?.photos?.find((candidate) => candidate.feature === feature);
  return (
    <div class="photo-note">
      <input
        ref={input}
        type="file"
        accept="image/*"
        hidden
        aria-label={`picture of ${name}`}
        onChange={(event) => {
          const [file] = event.currentTarget.files ?? [];
          event.currentTarget.value = '';
          if (file) void actions.pinPhoto(feature, name, file);
        }}
      />
      {photo && (
        <button type="button" class="picture" onClick={() => whole.current?.showModal()}>
          <img src={photo.picture} width={72} height={Math.round((72 * photo.heightPx) / photo.widthPx)} alt={`${name}, ${photo.name}; show it large`} />
        </button>
      )}
      {photo && <span class="when">{photo.name}</span>}
      <button type="button" class="quiet" onClick={() => input.current?.click()}>{photo ? 'Other picture' : 'Add a picture'}</button>
      {photo && <button type="button" class="quiet" onClick={() => actions.removePhoto(feature, name)}>Take it away</button>}
      {photo && (
        <dialog ref={whole} class="small-dialog picture-sheet" aria-label={`picture of ${name}`}>
          <img src={photo.picture} alt={`${name}, ${photo.name}`} />
          <form method="dialog"><button type="submit" class="deed">Close</button></form>
        </dialog>
      )}
    </div>
  );
}
