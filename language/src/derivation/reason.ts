/** What can bound a value, each a reason that code may ask for. */
export type BoundKind =
  | 'setting'
  | 'rating'
  | 'power'
  | 'inputSetting'
  | 'inputRating'
  | 'supply'
  | 'drive'
  | 'modules'
  | 'bank'
  | 'link'
  | 'temperature'
  | 'hold'
  | 'nothingLeft';

/** Why a value is what it is. Data only: words are made of it where it is shown, and nothing reads words back. */
export interface Reason {
  readonly kind: BoundKind;
  /** The thing whose bound it is, by name. */
  readonly subject: string;
  /** Whether the loads that it passes its supply on to had been taken off. */
  readonly lessPassed?: true;
}
