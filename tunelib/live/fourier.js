// A fast Fourier transform of a fixed size, in place (J. Cooley, J. Tukey, "An algorithm for the machine calculation of
// complex Fourier series", Math. Comp. 19, 1965).

export class Fourier {
  // `size` is a power of two.
  constructor(size) {
    this.size = size;
    this.cosines = Float64Array.from({length: size / 2}, (_, k) => Math.cos(2 * Math.PI * k / size));
    this.sines = Float64Array.from({length: size / 2}, (_, k) => -Math.sin(2 * Math.PI * k / size));
    this.places = new Uint32Array(size);  // where each value goes: its place with the bits read backwards
    for (let place = 1; place < size; place++) {
      this.places[place] = (this.places[place >> 1] >> 1) | (place & 1 ? size >> 1 : 0);
    }
  }

  // The sums of value k times exp(-2 pi i j k / size), for all j; given and returned as real and imaginary parts.
  transform(re, im) {
    const {size, cosines, sines, places} = this;
    for (let place = 0; place < size; place++) {
      const other = places[place];
      if (other > place) {
        [re[place], re[other]] = [re[other], re[place]];
        [im[place], im[other]] = [im[other], im[place]];
      }
    }
    for (let half = 1; half < size; half *= 2) {
      const stride = size / (2 * half);
      for (let first = 0; first < size; first += 2 * half) {
        for (let k = 0; k < half; k++) {
          const low = first + k, high = low + half, c = cosines[k * stride], s = sines[k * stride];
          const turnedRe = re[high] * c - im[high] * s, turnedIm = re[high] * s + im[high] * c;
          re[high] = re[low] - turnedRe;
          im[high] = im[low] - turnedIm;
          re[low] += turnedRe;
          im[low] += turnedIm;
        }
      }
    }
  }
}
