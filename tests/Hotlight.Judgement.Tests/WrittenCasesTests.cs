namespace Hotlight.Judgement.Tests;

/// <summary>Forty written cases with the verdict and the reasons of a careful teacher; half of them were kept out of the making of the rules.</summary>
public sealed class WrittenCasesTests
{
    public static TheoryData<string> Tuning => [.. WrittenCase.Of("tuning").Select(each => each.Id)];

    public static TheoryData<string> Held => [.. WrittenCase.Of("held").Select(each => each.Id)];

    [Theory]
    [MemberData(nameof(Tuning))]
    public void Judge_ACaseUsedForTheRules_SaysWhatTheTeacherSays(string id)
        => Assert.Empty(WrittenCase.Of("tuning").Single(each => each.Id == id).Differences());

    [Theory]
    [MemberData(nameof(Held))]
    public void Judge_ACaseKeptOutOfTheRules_SaysWhatTheTeacherSays(string id)
        => Assert.Empty(WrittenCase.Of("held").Single(each => each.Id == id).Differences());

    [Fact]
    public void Cases_AreFortyAndEachHasItsReasons()
    {
        WrittenCase[] all = [.. WrittenCase.Of("tuning"), .. WrittenCase.Of("held")];
        Assert.Equal(40, all.Select(each => each.Id).Distinct().Count());
        Assert.All(all, each => Assert.EndsWith(".", each.Teacher, StringComparison.Ordinal));
        Assert.Equal(20, WrittenCase.Of("held").Count);
    }

    // The same case always gives the same verdict, trace and corrections, to the letter.
    [Fact]
    [Trait("evidence", "invariant")]
    public void Judge_TheSameCaseAgain_GivesTheSameText()
    {
        foreach (WrittenCase written in WrittenCase.Of("tuning").Concat(WrittenCase.Of("held")))
        {
            Assert.Equal(CritiqueJson.Write(written.Judge()), CritiqueJson.Write(written.Judge()));
        }
    }
}
