import { serveRecords, type ToRecordReader } from '../src/survey/record-reader.ts';

serveRecords(
  (message) => self.postMessage(message),
  (take) => (self.onmessage = (event: MessageEvent<ToRecordReader>) => take(event.data)),
);
