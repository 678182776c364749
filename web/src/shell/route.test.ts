import { beforeAll, describe, expect, it, vi } from "vitest";

// The functions under test know no browser; the module that holds them asks for the address once.
beforeAll(() => vi.stubGlobal("location", { pathname: "/", search: "" }));

describe("matched", () => {
  it("takes the parts that a place leaves open", async () => {
    const { matched } = await import("./route");
    expect(matched("/visit/:id", "/visit/PX-1-20260302-4f1a")).toEqual({ id: "PX-1-20260302-4f1a" });
    expect(matched("/visit/:id", "/visit/a%20b/")).toEqual({ id: "a b" });
    expect(matched("/", "/")).toEqual({});
  });
  it("takes nothing else", async () => {
    const { matched } = await import("./route");
    expect(matched("/visit/:id", "/visit")).toBeNull();
    expect(matched("/visit/:id", "/visit/")).toBeNull();
    expect(matched("/visit/:id", "/visit/a/b")).toBeNull();
    expect(matched("/visit/:id", "/visit/%E0%A4%A")).toBeNull();
    expect(matched("/look", "/Look")).toBeNull();
  });
});
