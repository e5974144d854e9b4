using Hotlight.Physics.Build;

// Run from the root of the checkout.
string source = Path.Combine("data", "physics", "nistir-5632");
File.WriteAllBytes(Path.Combine(source, "attenuation.tsv"), AttenuationTable.Build(Path.Combine(source, "raw")));
