/** The editor that shows a page: takes messages, and keeps a little state while the page is hidden. */
export interface Host<State> {
  postMessage(message: unknown): void;
  getState(): State | undefined;
  setState(state: State): void;
}

declare function acquireVsCodeApi<State>(): Host<State>;

export const host = <State>(): Host<State> => acquireVsCodeApi<State>();

export const byId = <T extends HTMLElement>(id: string): T => document.getElementById(id) as T;

export interface Choice {
  readonly id: string;
  readonly title: string;
  readonly isDisabled?: boolean;
}

/** Fills a list of choices. */
export function fill(select: HTMLSelectElement, choices: readonly Choice[], chosen: string): void {
  select.replaceChildren(
    ...choices.map(({ id, title, isDisabled }) => {
      const option = new Option(title, id, false, id === chosen);
      option.disabled = isDisabled ?? false;
      return option;
    }),
  );
}
