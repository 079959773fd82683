/** Median of the last few differences, as LAZ keeps it: five sorted values, the newest pushes out the far end. */
export class RunningMedian {
  private a = 0;
  private b = 0;
  middle = 0;
  private d = 0;
  private e = 0;
  private dropHigh = true;

  add(value: number): void {
    if (this.dropHigh) this.addDroppingHigh(value);
    else this.addDroppingLow(value);
  }

  private addDroppingHigh(value: number): void {
    if (value < this.middle) {
      this.e = this.d;
      this.d = this.middle;
      if (value < this.a) {
        this.middle = this.b;
        this.b = this.a;
        this.a = value;
      } else if (value < this.b) {
        this.middle = this.b;
        this.b = value;
      } else {
        this.middle = value;
      }
      return;
    }
    if (value < this.d) {
      this.e = this.d;
      this.d = value;
    } else {
      this.e = value;
    }
    this.dropHigh = false;
  }

  private addDroppingLow(value: number): void {
    if (this.middle < value) {
      this.a = this.b;
      this.b = this.middle;
      if (this.e < value) {
        this.middle = this.d;
        this.d = this.e;
        this.e = value;
      } else if (this.d < value) {
        this.middle = this.d;
        this.d = value;
      } else {
        this.middle = value;
      }
      return;
    }
    if (this.b < value) {
      this.a = this.b;
      this.b = value;
    } else {
      this.a = value;
    }
    this.dropHigh = true;
  }
}

export const runningMedians = (count: number): RunningMedian[] => Array.from({ length: count }, () => new RunningMedian());
