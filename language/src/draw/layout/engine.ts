/**
 * The graph that a layout engine for layers takes and gives back with places, as elkjs knows it. The engine comes from outside, so that the
 * language loads none; its answers are the same for the same graph everywhere.
 */
export interface LayoutPoint {
  readonly x: number;
  readonly y: number;
}

export interface LayoutLabel {
  readonly text?: string;
  readonly x?: number;
  readonly y?: number;
  readonly width?: number;
  readonly height?: number;
  readonly layoutOptions?: Record<string, string>;
}

export interface LayoutPort {
  readonly id: string;
  readonly x?: number;
  readonly y?: number;
  readonly width?: number;
  readonly height?: number;
  readonly layoutOptions?: Record<string, string>;
}

export interface LayoutEdge {
  readonly id: string;
  readonly sources: string[];
  readonly targets: string[];
  readonly labels?: LayoutLabel[];
  readonly sections?: readonly {
    readonly startPoint: LayoutPoint;
    readonly endPoint: LayoutPoint;
    readonly bendPoints?: readonly LayoutPoint[];
  }[];
  readonly junctionPoints?: readonly LayoutPoint[];
  readonly layoutOptions?: Record<string, string>;
}

export interface LayoutNode {
  readonly id: string;
  readonly x?: number;
  readonly y?: number;
  readonly width?: number;
  readonly height?: number;
  readonly ports?: LayoutPort[];
  readonly labels?: LayoutLabel[];
  readonly children?: LayoutNode[];
  readonly edges?: LayoutEdge[];
  readonly layoutOptions?: Record<string, string>;
}

export interface LayoutEngine {
  readonly layout: (graph: LayoutNode) => Promise<LayoutNode>;
}
