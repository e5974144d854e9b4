using Hotlight.Web.Lessons;

namespace Hotlight.Web.Tests;

public sealed class SharedFileDeskTests
{
    [Theory]
    [InlineData("Wrists, week 3", "wrists-week-3")]
    [InlineData(" Elbow: shoulder & wrist -- too low ", "elbow-shoulder-wrist-too-low")]
    [InlineData("膝", "collection")]
    [InlineData("", "collection")]
    public void NameOf_ATitle_HasOneDashBetweenWords(string title, string name) => Assert.Equal(name, SharedFileDesk.NameOf(title, "collection"));
}
