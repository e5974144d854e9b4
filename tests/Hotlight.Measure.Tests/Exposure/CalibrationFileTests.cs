using System.Text;
using Hotlight.Imaging;
using Hotlight.Measure.Exposure;

namespace Hotlight.Measure.Tests.Exposure;

public class CalibrationFileTests
{
    private const string Good = """{"schema": "hotlight.calibration/1", "relationship": "logarithmic", "gain": -1000, "offset": 2500.5, "kermaUncertaintyPercent": 4, "note": "Room 2, flat fields"}""";

    [Fact]
    public void Parse_EveryMember_IsKept()
    {
        Calibration calibration = Parse("\uFEFF" + Good);

        Assert.Equal(new Calibration { Relationship = PixelRelationship.Logarithmic, Gain = -1000, Offset = 2500.5, KermaUncertaintyPercent = 4, Note = "Room 2, flat fields" }, calibration);
    }

    [Theory]
    [InlineData("linear", PixelRelationship.Linear)]
    [InlineData("square-root", PixelRelationship.SquareRoot)]
    public void Parse_NeededMembersOnly_LeavesTheRestUnknown(string relationship, PixelRelationship expected)
        => Assert.Equal(
            new Calibration { Relationship = expected, Gain = 200 },
            Parse($$"""{"schema": "hotlight.calibration/1", "relationship": "{{relationship}}", "gain": 200}"""));

    [Theory]
    [InlineData("", "not JSON")]
    [InlineData("gain = 3", "not JSON")]
    [InlineData("[1, 2]", "no JSON object")]
    [InlineData("{}", "'schema' is missing")]
    [InlineData("""{"schema": "hotlight.calibration/2", "relationship": "linear", "gain": 1}""", "this version reads")]
    [InlineData("""{"schema": "hotlight.calibration/1", "gain": 1}""", "'relationship' is missing")]
    [InlineData("""{"schema": "hotlight.calibration/1", "relationship": "cubic", "gain": 1}""", "'cubic'")]
    [InlineData("""{"schema": "hotlight.calibration/1", "relationship": "linear"}""", "'gain' is missing")]
    [InlineData("""{"schema": "hotlight.calibration/1", "relationship": "linear", "gain": 0}""", "gain is 0")]
    [InlineData("""{"schema": "hotlight.calibration/1", "relationship": "linear", "gain": "200"}""", "'gain' must be a finite number")]
    [InlineData("""{"schema": "hotlight.calibration/1", "relationship": "linear", "gain": 1e999}""", "'gain' must be a finite number")]
    [InlineData("""{"schema": "hotlight.calibration/1", "relationship": "linear", "gain": 1, "kermaUncertaintyPercent": -1}""", "from 0 to 100")]
    [InlineData("""{"schema": "hotlight.calibration/1", "relationship": "linear", "gian": 1}""", "'gian' is not a member")]
    [InlineData("""{"schema": "hotlight.calibration/1", "relationship": "linear", "gain": 1, "gain": 2}""", "twice")]
    [InlineData("""{"schema": "hotlight.calibration/1", "relationship": "linear", "gain": 1, "note": 3}""", "'note' must be a text")]
    public void Parse_WrongContent_IsOneSentenceThatNamesTheFile(string content, string part)
    {
        FormatException problem = Assert.Throws<FormatException>(() => Parse(content));

        Assert.StartsWith("room-2.json: ", problem.Message, StringComparison.Ordinal);
        Assert.Contains(part, problem.Message, StringComparison.Ordinal);
        Assert.DoesNotContain('\n', problem.Message);
    }

    [Fact]
    public void Read_MissingFileOrFolder_IsOneSentence()
    {
        string folder = Directory.CreateTempSubdirectory().FullName;
        try
        {
            Assert.Contains("no such", Assert.Throws<FormatException>(() => CalibrationFile.Read(Path.Combine(folder, "none.json"))).Message, StringComparison.Ordinal);
            Assert.Contains("folder", Assert.Throws<FormatException>(() => CalibrationFile.Read(folder)).Message, StringComparison.Ordinal);
            string path = Path.Combine(folder, "room-2.json");
            File.WriteAllText(path, Good);
            Assert.Equal(-1000, CalibrationFile.Read(path).Gain);
            File.WriteAllText(path, new string(' ', 70_000));
            Assert.Contains("70000 bytes", Assert.Throws<FormatException>(() => CalibrationFile.Read(path)).Message, StringComparison.Ordinal);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    private static Calibration Parse(string content) => CalibrationFile.Parse(Encoding.UTF8.GetBytes(content), "room-2.json");
}
